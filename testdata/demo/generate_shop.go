//go:build ignore

package main

import (
	"math"
	"slices"
	"strconv"
)

type line struct {
	item        string
	qty         float64
	need, waste float64
}

type service struct {
	code, name, family string
	hours, months      int
	covers             string
	minutes            int
}

var services = []service{
	{"fork-lower", "Lower legs: wipers, foam rings, fresh oil", "fork-air", 50, 6, "", 50},
	{"fork-spring", "Air spring with lower legs", "fork-air", 100, 12, "fork-lower", 80},
	{"fork-full", "Full fork: damper, air spring, lower legs", "fork-air", 200, 24, "fork-spring", 150},
	{"shock-can", "Air can: seals and glide rings", "shock-air", 50, 6, "", 40},
	{"shock-full", "Shock damper with air can", "shock-air", 125, 12, "shock-can", 120},
	{"coil-hardware", "Eyelet bushings and hardware", "shock-coil", 60, 12, "", 25},
	{"coil-full", "Coil shock damper with hardware", "shock-coil", 150, 12, "coil-hardware", 110},
	{"dropper-clean", "Clean and grease", "dropper", 60, 6, "", 30},
	{"dropper-full", "Dropper full service", "dropper", 200, 18, "dropper-clean", 75},
}

type model struct{ code, name, family string }

var models = []model{
	{"fell-150", "Brackwater Fell 150", "fork-air"},
	{"fell-180", "Brackwater Fell 180", "fork-air"},
	{"scarp-160", "Quillon Scarp 160", "fork-air"},
	{"ember-air", "Ninefold Ember Air", "shock-air"},
	{"ember-long", "Ninefold Ember Air Long", "shock-air"},
	{"tallow-air", "Quillon Tallow Air", "shock-air"},
	{"ember-coil", "Ninefold Ember Coil", "shock-coil"},
	{"tallow-coil", "Quillon Tallow Coil", "shock-coil"},
	{"hoist-170", "Brackwater Hoist 170", "dropper"},
	{"hoist-200", "Brackwater Hoist 200", "dropper"},
	{"pillar-180", "Quillon Pillar 180", "dropper"},
}

type item struct {
	code, name, kind, unit, material string
	months                           int
	critical                         bool
	extra                            map[string]string
	supplier                         string
	pack                             float64
	price                            float64
	second                           string // another supplier, dearer and faster
}

func part(code, name, kind, material, supplier string, pack, price float64) item {
	return item{code: code, name: name, kind: kind, unit: "ea", material: material, critical: true, supplier: supplier, pack: pack, price: price, extra: map[string]string{}}
}

func fluid(code, name, kind, unit string, months int, supplier string, pack, price float64, extra map[string]string) item {
	return item{code: code, name: name, kind: kind, unit: unit, months: months, critical: true, supplier: supplier, pack: pack, price: price, extra: extra}
}

func items() []item {
	list := []item{
		fluid("oil-lower", "Lower leg oil, 15 cSt", "oil", "ml", 48, "aldermoor", 1000, 18.40, map[string]string{"density_kg_m3": "872", "viscosity_40c": "15.2", "flash_point_c": "176"}),
		fluid("oil-damper-light", "Damper oil, 10 cSt", "oil", "ml", 48, "aldermoor", 1000, 21.90, map[string]string{"density_kg_m3": "853", "viscosity_40c": "10.1", "flash_point_c": "168"}),
		fluid("oil-damper-medium", "Damper oil, 16 cSt", "oil", "ml", 48, "aldermoor", 1000, 22.60, map[string]string{"density_kg_m3": "858", "viscosity_40c": "16.0", "flash_point_c": "172"}),
		fluid("oil-shock", "Shock oil, 22 cSt", "oil", "ml", 48, "aldermoor", 500, 14.80, map[string]string{"density_kg_m3": "861", "viscosity_40c": "22.1", "flash_point_c": "180"}),
		fluid("oil-can", "Air can oil", "oil", "ml", 48, "aldermoor", 250, 11.20, map[string]string{"density_kg_m3": "890", "viscosity_40c": "98", "flash_point_c": "205"}),
		fluid("grease-seal", "Seal grease", "grease", "g", 36, "aldermoor", 500, 19.50, map[string]string{}),
		fluid("grease-post", "Post grease", "grease", "g", 36, "aldermoor", 250, 13.75, map[string]string{}),
		fluid("solvent-ipa", "Isopropyl alcohol, 99 %", "solvent", "ml", 60, "aldermoor", 5000, 24.00, map[string]string{"density_kg_m3": "786", "flash_point_c": "11.7"}),
	}
	for _, f := range []struct{ m, mm string }{{"fell-150", "35"}, {"fell-180", "38"}, {"scarp-160", "36"}} {
		list = append(list,
			part(f.m+"-wiper", "Wiper "+f.mm+" mm, "+f.m, "wiper", "NBR", "ravelin", 2, 9.60),
			part(f.m+"-foam", "Foam ring "+f.mm+" mm, "+f.m, "other", "", "ravelin", 10, 6.20),
			part(f.m+"-glide", "Air piston glide ring, "+f.m, "glide-ring", "PTFE", "ravelin", 5, 11.00),
			part(f.m+"-spring-kit", "Air spring seal kit, "+f.m, "kit", "", "cobbet", 1, 17.80),
			part(f.m+"-piston-seal", "Air piston seal, "+f.m, "seal", "NBR", "", 0, 0),
			part(f.m+"-shaft-seal", "Air shaft seal, "+f.m, "seal", "NBR", "", 0, 0),
			part(f.m+"-damper-kit", "Damper seal kit, "+f.m, "kit", "", "cobbet", 1, 24.50),
			part(f.m+"-bushing", "Upper bushing pair, "+f.m, "bushing", "", "tessel", 1, 21.00),
		)
	}
	for _, s := range []string{"ember-air", "ember-long", "tallow-air"} {
		list = append(list,
			part(s+"-can-seal", "Air can quad seal set, "+s, "seal", "NBR", "ravelin", 1, 12.40),
			part(s+"-backup", "Backup ring set, "+s, "backup-ring", "PTFE", "ravelin", 1, 4.90),
			part(s+"-damper-kit", "Shock damper seal kit, "+s, "kit", "", "cobbet", 1, 28.90),
		)
	}
	for _, s := range []string{"ember-coil", "tallow-coil"} {
		list = append(list, part(s+"-damper-kit", "Coil damper seal kit, "+s, "kit", "", "cobbet", 1, 31.50))
	}
	for _, d := range []string{"hoist-170", "hoist-200", "pillar-180"} {
		list = append(list,
			part(d+"-collar-seal", "Collar wiper seal, "+d, "seal", "NBR", "tessel", 1, 7.30),
			part(d+"-key", "Guide key set, "+d, "hardware", "", "tessel", 1, 5.40),
		)
	}
	list = append(list,
		part("washer-crush", "Crush washer M8", "hardware", "", "ravelin", 25, 7.50),
		part("nut-foot", "Foot nut M8", "hardware", "", "ravelin", 10, 8.90),
		part("valve-core", "Valve core", "hardware", "", "ravelin", 10, 9.80),
		part("oring-shaft-12", "O-ring 12.42 × 1.78", "o-ring", "NBR", "ravelin", 25, 5.00),
		part("oring-cap-31", "O-ring 31.47 × 1.78", "o-ring", "FKM", "ravelin", 10, 9.00),
		part("eyelet-bushing", "Eyelet bushing, polymer", "bushing", "", "tessel", 4, 12.00),
		part("eyelet-hardware", "Eyelet hardware set 8 × 30", "hardware", "", "tessel", 1, 9.90),
		part("charge-seal", "Charge port seal", "seal", "FKM", "ravelin", 10, 7.20),
		part("spacer-fork", "Volume spacer, fork", "spacer", "", "tessel", 5, 8.50),
		part("spacer-shock", "Volume spacer, shock", "spacer", "", "tessel", 5, 7.00),
		part("wipe-roll", "Lint-free wipes, roll", "other", "", "cobbet", 6, 15.00),
	)
	for i := range list {
		switch list[i].code {
		case "spacer-fork", "spacer-shock", "wipe-roll", "solvent-ipa":
			list[i].critical = false
		case "oring-shaft-12":
			list[i].extra = map[string]string{"inside_mm": "12.42", "section_mm": "1.78", "hardness": "70"}
		case "oring-cap-31":
			list[i].extra = map[string]string{"inside_mm": "31.47", "section_mm": "1.78", "hardness": "75"}
		case "fell-150-wiper", "fell-180-wiper", "scarp-160-wiper", "oil-lower":
			list[i].second = "tessel"
		}
	}
	return list
}

// kitParts is what the air spring kits hold; their seals are had no other way.
func kitParts() [][]string {
	var rows [][]string
	for _, f := range []string{"fell-150", "fell-180", "scarp-160"} {
		rows = append(rows, []string{f + "-spring-kit", f + "-piston-seal", "1"}, []string{f + "-spring-kit", f + "-shaft-seal", "1"}, []string{f + "-spring-kit", "oring-cap-31", "2"})
	}
	return rows
}

// bom is what a service takes on a model; common practice, no source.
func bom(s service, m string) []line {
	lower := []line{{"oil-lower", 20, 1, .05}, {m + "-wiper", 2, 1, .02}, {m + "-foam", 2, 1, 0}, {"washer-crush", 2, 1, 0}, {"nut-foot", 2, .15, 0}, {"grease-seal", 4, 1, 0}, {"solvent-ipa", 40, 1, 0}, {m + "-bushing", 1, .08, 0}, {m + "-shaft-seal", 1, .04, 0}}
	spring := []line{{m + "-spring-kit", 1, 1, 0}, {m + "-glide", 1, .5, 0}, {"valve-core", 1, .08, 0}, {"spacer-fork", 1, .1, 0}}
	can := []line{{m + "-can-seal", 1, 1, .02}, {m + "-backup", 1, .4, 0}, {"oil-can", 4, 1, .1}, {"grease-seal", 3, 1, 0}, {"valve-core", 1, .06, 0}, {"spacer-shock", 1, .08, 0}, {"solvent-ipa", 25, 1, 0}}
	eyelet := []line{{"eyelet-bushing", 2, .35, 0}, {"eyelet-hardware", 1, .15, 0}}
	switch s.code {
	case "fork-lower":
		return lower
	case "fork-spring":
		return merge(lower, spring)
	case "fork-full":
		oil := "oil-damper-light"
		if m == "fell-180" {
			oil = "oil-damper-medium"
		}
		return merge(lower, spring, []line{{m + "-damper-kit", 1, 1, 0}, {oil, 160, 1, .15}, {"oring-cap-31", 2, 1, 0}, {"oring-shaft-12", 1, 1, .05}, {"wipe-roll", 1, .1, 0}})
	case "shock-can":
		return can
	case "shock-full":
		return merge(can, eyelet, []line{{m + "-damper-kit", 1, 1, 0}, {"oil-shock", 65, 1, .2}, {"charge-seal", 1, 1, 0}, {"oring-shaft-12", 1, 1, .05}})
	case "coil-hardware":
		return merge(eyelet, []line{{"grease-seal", 2, 1, 0}, {"solvent-ipa", 10, 1, 0}})
	case "coil-full":
		return merge(eyelet, []line{{"grease-seal", 2, 1, 0}, {m + "-damper-kit", 1, 1, 0}, {"oil-shock", 80, 1, .2}, {"charge-seal", 1, 1, 0}, {"solvent-ipa", 30, 1, 0}})
	case "dropper-clean":
		return []line{{"grease-post", 6, 1, 0}, {"solvent-ipa", 15, 1, 0}, {m + "-collar-seal", 1, .25, 0}}
	}
	return []line{{"grease-post", 10, 1, 0}, {"solvent-ipa", 30, 1, 0}, {m + "-collar-seal", 1, 1, 0}, {m + "-key", 1, 1, 0}, {"oil-can", 3, 1, 0}}
}

func merge(lists ...[]line) []line {
	var all []line
	for _, l := range slices.Concat(lists...) {
		if i := slices.IndexFunc(all, func(x line) bool { return x.item == l.item }); i >= 0 {
			all[i].qty = max(all[i].qty, l.qty)
			all[i].need = max(all[i].need, l.need)
			continue
		}
		all = append(all, l)
	}
	return all
}

var suppliers = [][]string{
	{"ravelin", "Ravelin Seals", "mon", "14:00", "4", "40", "6.90", "120"},
	{"cobbet", "Cobbet & Daw Trade Parts", "mon", "12:00", "8", "60", "9.50", "180"},
	{"aldermoor", "Aldermoor Lubricants", "wed", "16:00", "5", "50", "12.00", "150"},
	{"tessel", "Tessel Import", "mon", "11:00", "3", "0", "14.90", "250"},
}

// holidays are invented too: one of a supplier on the day that Monday's order
// would come, others far enough ahead to be planned around.
var holidays = [][]string{
	{"2026-06-23", "cobbet", "stocktaking"},
	{"2026-07-06", "", "trail day: all hands dig"},
	{"2026-10-05", "", "autumn stocktaking"},
	{"2026-11-09", "", "lift inspection"},
	{"2026-11-10", "", "lift inspection"},
}

// grooves are invented to suit their rings.
var grooves = [][]string{
	{"oring-shaft-12", "12.65", "15.55", "2.4"},
	{"oring-cap-31", "32", "34.9", "2.4"},
}

// lateFinds are what came to light when the shelf was tidied: rings of a metric
// size beside those of the bill, and a date printed on a bag. They come after
// all that is drawn, which stays as it was.
func (w *shop) lateFinds() {
	ring := part("oring-metric-12", "O-ring 12.4 × 1.8", "o-ring", "NBR", "tessel", 10, 3.40)
	ring.extra = map[string]string{"inside_mm": "12.4", "section_mm": "1.8", "hardness": "70"}
	w.items = append(w.items, ring)
	w.opening = append(w.opening, []string{ring.code, "opening", "8", start.String(), "3Q24", "", "0.34"})
	for _, row := range w.opening {
		if row[0] == "scarp-160-shaft-seal" {
			row[5], row[6] = "2026-07-03", "3.20"
		}
	}
}

func lead(supplier string) int {
	for _, s := range suppliers {
		if s[0] == supplier {
			n, _ := strconv.Atoi(s[4])
			return n
		}
	}
	return 7
}

// factor is the park's season: lifts run from April to October.
func factor(week int) float64 {
	return math.Round(100*(1+.85*math.Sin(2*math.Pi*(float64(week)-16)/52))) / 100
}

// gamma draws a gamma variate of the shape and scale one (Marsaglia & Tsang 2000).
func gamma(shape float64) float64 {
	if shape <= 0 {
		return 0
	}
	if shape < 1 {
		return gamma(shape+1) * math.Pow(rnd.Float64(), 1/shape)
	}
	d := shape - 1./3
	c := 1 / math.Sqrt(9*d)
	for {
		x := rnd.NormFloat64()
		v := math.Pow(1+c*x, 3)
		if v > 0 && math.Log(rnd.Float64()) < .5*x*x+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}
