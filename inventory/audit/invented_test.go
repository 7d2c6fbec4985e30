package audit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"circlip/inventory"
)

// invented is a workshop that does not exist, made from a seed. All its sizes
// are invented, after what such a workshop is like (common practice, no
// source), and chosen before anything was proved with them:
//
//   - forks, shocks and in two workshops of three droppers; 5 to 7 services,
//     3 to 6 models, 3 people at the bench who do half, a third and a sixth of
//     the jobs, whatever the job is;
//   - 25 to 50 services a week, each service by a Poisson law about its rate,
//     the rates of a week moving together by 15 %; 8 jobs in 100 are two
//     services of one fork;
//   - 4 or 5 fluids, each shared by 2 to 7 services; a job takes 5 to 250 ml
//     or g of one, in whole ml, a tenth of the lines with 5 % waste; one model
//     of a family takes a third more of damper oil than the others;
//   - the bill is right in the mean, but for the overuse; a job's amount has a
//     spread of 6 to 12 %, by fluid, normal;
//   - fluids stand in one or two open bottles whose tare is known to a gram,
//     and in sealed packs of 1 or 5 litres, filled to 0.3 %; one or two packs
//     are ordered on a Friday when less than a week and a half of use is left;
//   - every Friday evening each open bottle is weighed on a scale of 1 g with
//     a thermometer that is off by 0.5 °C, in a room of 20 °C that swings by
//     2 °C over the year and by 1 °C from week to week; sealed packs are
//     counted at what their label says; the opening shelf was read off marks;
//   - in half the workshops the cards repeat the bill; in the others they
//     hold what was measured, read to 1 % and written down in whole ml, and
//     one line in 100 is forgotten.
type invented struct {
	seed     uint64
	measured bool
	perWeek  []float64 // services a week, by the shop's services
	fluids   []fluid
	shop     inventory.Shop // without a past
}

// fluid is an item as it really is.
type fluid struct {
	inventory.Item
	expansion float64 // a °C
	spread    float64 // of a job's amount, a share
	pack      float64 // in the item's measure
	bottles   int     // open at a time
	weekly    float64 // expected use
}

// offered are the services there may be, with how many in a hundred they are.
var offered = []struct {
	service, family string
	rate            float64
	covers          []string
}{
	{"lowers", "fork", 34, nil},
	{"damper", "fork", 12, nil},
	{"full", "fork", 16, []string{"lowers", "damper"}},
	{"air-can", "shock", 20, nil},
	{"shock-damper", "shock", 10, []string{"air-can"}},
	{"post", "dropper", 9, nil},
	{"cartridge", "dropper", 5, []string{"post"}},
}

// takes are the lines of the bill before they are drawn: from and up to, in the
// item's measure.
var takes = []struct {
	service, item string
	least, most   float64
}{
	{"lowers", "bath-oil", 15, 30}, {"full", "bath-oil", 15, 30}, {"air-can", "bath-oil", 5, 10}, {"post", "bath-oil", 5, 10}, {"cartridge", "bath-oil", 5, 10},
	{"damper", "damper-oil", 70, 120}, {"full", "damper-oil", 70, 120}, {"cartridge", "damper-oil", 30, 60},
	{"shock-damper", "shock-oil", 80, 150}, {"cartridge", "shock-oil", 10, 30}, {"air-can", "shock-oil", 5, 10},
	{"lowers", "grease", 5, 8}, {"full", "grease", 8, 12}, {"air-can", "grease", 5, 8}, {"shock-damper", "grease", 5, 8}, {"post", "grease", 8, 15},
	{"lowers", "solvent", 40, 80}, {"damper", "solvent", 80, 150}, {"full", "solvent", 120, 250}, {"shock-damper", "solvent", 80, 150}, {"cartridge", "solvent", 60, 100},
}

var (
	firstMonday = inventory.NewDate(2025, 1, 6)
	people      = []string{"Ash", "Birch", "Cedar"}
)

// invent draws a workshop.
func invent(seed uint64) invented {
	r := rand.New(rand.NewPCG(seed, 1))
	w := invented{seed: seed, measured: r.IntN(2) == 1}
	w.shop.Settings = inventory.Settings{Workshop: fmt.Sprint("invented ", seed), Currency: inventory.Currency{Code: "EUR", Decimals: 2}, ScaleStepG: 1, MarkStepML: 10}
	w.drawServices(r)
	w.drawModels(r)
	w.drawFluids(r)
	w.drawBill(r)
	w.drawPacks(r)
	return w
}

func (w *invented) drawServices(r *rand.Rand) {
	droppers := r.IntN(3) > 0
	total := 0.0
	for _, o := range offered {
		if o.family == "dropper" && !droppers {
			continue
		}
		w.shop.Services = append(w.shop.Services, inventory.Service{Code: o.service, Name: o.service, Family: o.family, Covers: o.covers})
		w.perWeek = append(w.perWeek, o.rate*between(r, .7, 1.3))
		total += w.perWeek[len(w.perWeek)-1]
	}
	week := between(r, 25, 50)
	for i := range w.perWeek {
		w.perWeek[i] *= week / total
	}
}

func (w *invented) drawModels(r *rand.Rand) {
	for _, f := range []struct {
		family string
		models int
	}{{"fork", 1 + r.IntN(3)}, {"shock", 1 + r.IntN(2)}, {"dropper", 1}} {
		if w.does(f.family) {
			for i := range f.models {
				w.shop.Models = append(w.shop.Models, inventory.Model{Code: fmt.Sprint(f.family, "-", i+1), Family: f.family})
			}
		}
	}
	if len(w.shop.Models) < 3 {
		w.shop.Models = append(w.shop.Models, inventory.Model{Code: "fork-9", Family: "fork"})
	}
}

func (w *invented) does(family string) bool {
	return slices.ContainsFunc(w.shop.Services, func(s inventory.Service) bool { return s.Family == family })
}

func (w *invented) drawFluids(r *rand.Rand) {
	add := func(code string, kind inventory.Kind, m inventory.Measure, density, expansion float64) {
		item := inventory.Item{Code: code, Name: code, Kind: kind, Measure: m, DensityKgM3: density}
		w.fluids = append(w.fluids, fluid{Item: item, expansion: expansion, spread: between(r, .06, .12), bottles: 1 + r.IntN(2)})
		w.shop.Items = append(w.shop.Items, item)
	}
	oil := func() float64 { return math.Round(between(r, 830, 890)) }
	add("bath-oil", inventory.Oil, inventory.Millilitre, oil(), 75e-5)
	add("damper-oil", inventory.Oil, inventory.Millilitre, oil(), 75e-5)
	if r.IntN(2) == 1 {
		add("shock-oil", inventory.Oil, inventory.Millilitre, oil(), 75e-5)
	}
	add("grease", inventory.Grease, inventory.Gram, 0, 0)
	add("solvent", inventory.Solvent, inventory.Millilitre, 780, 95e-5)
}

func (w *invented) drawBill(r *rand.Rand) {
	for _, t := range takes {
		has := slices.ContainsFunc(w.fluids, func(f fluid) bool { return f.Code == t.item }) &&
			slices.ContainsFunc(w.shop.Services, func(s inventory.Service) bool { return s.Code == t.service })
		line := inventory.BOMLine{Service: t.service, Model: inventory.AnyModel, Item: t.item, Need: 1}
		line.Qty = inventory.Quantity(10 * math.Round(between(r, t.least, t.most)))
		if r.IntN(10) == 0 {
			line.Waste = .05
		}
		if !has {
			continue
		}
		w.shop.BOM = append(w.shop.BOM, line)
		if t.item == "damper-oil" && t.service != "cartridge" {
			line.Model, line.Qty = "fork-1", line.Qty*4/3/10*10
			w.shop.BOM = append(w.shop.BOM, line)
		}
	}
}

// drawPacks has packs of a litre where a week takes less, else of five.
func (w *invented) drawPacks(r *rand.Rand) {
	for i := range w.fluids {
		f := &w.fluids[i]
		for s, service := range w.shop.Services {
			f.weekly += w.perWeek[s] * w.perJob(service.Code, f.Code)
		}
		f.pack = 1000
		if f.weekly > 1000 {
			f.pack = 5000
		}
		w.shop.Offers = append(w.shop.Offers, inventory.Offer{Item: f.Code, Supplier: "carrier", PackQty: inventory.Quantity(10 * f.pack), Price: inventory.Money(between(r, 1000, 3000) * f.pack / 1000)})
		for b := range f.bottles {
			w.shop.Containers = append(w.shop.Containers, inventory.Container{Code: bottle(f.Code, b), Item: f.Code, TareG: math.Round(between(r, .06, .09) * f.pack), VolumeML: 1.5 * f.pack})
		}
	}
}

func bottle(item string, number int) string { return fmt.Sprint(item, " ", number+1) }

// perJob is what the bill allows a job of a service, in the mean of its models.
func (w *invented) perJob(service, item string) (amount float64) {
	models := w.modelsOf(service)
	bill := inventory.NewBill(w.shop)
	for _, m := range models {
		for _, l := range bill.Lines([]string{service}, m, firstMonday) {
			if l.Item == item {
				amount += allowed(l) / float64(len(models))
			}
		}
	}
	return amount
}

// share is how much of a fluid's use is a service's.
func (w *invented) share(service, item string) float64 {
	s := slices.IndexFunc(w.shop.Services, func(s inventory.Service) bool { return s.Code == service })
	f := slices.IndexFunc(w.fluids, func(f fluid) bool { return f.Code == item })
	return w.perWeek[s] * w.perJob(service, item) / w.fluids[f].weekly
}

func (w *invented) modelsOf(service string) (codes []string) {
	at := slices.IndexFunc(w.shop.Services, func(s inventory.Service) bool { return s.Code == service })
	for _, m := range w.shop.Models {
		if m.Family == w.shop.Services[at].Family {
			codes = append(codes, m.Code)
		}
	}
	return codes
}

// allowed is what a line lets a job take, in the measure of a fluid.
func allowed(l inventory.BOMLine) float64 { return float64(l.Qty) / 10 * (1 + l.Waste) }

func between(r *rand.Rand, least, most float64) float64 { return least + (most-least)*r.Float64() }
