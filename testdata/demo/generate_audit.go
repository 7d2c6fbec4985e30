//go:build ignore

package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"circlip/inventory"
)

// bench draws what the audit of fluids needs, apart from the rest: so that the
// rest stays as it was.
var bench = rand.New(rand.NewPCG(1507, 27))

// weekly is the day from which the fluids are weighed every Friday, bottle by
// bottle; before, every fourth Friday. The scale shows tenths of a gram.
var weekly = inventory.NewDate(2026, 3, 13)

// bottleTares are the empty weights of the bottles that stand open at the
// bench, invented.
var bottleTares = map[string]float64{
	"oil-lower": 74, "oil-damper-light": 73, "oil-damper-medium": 75, "oil-shock": 52, "oil-can": 38, "grease-seal": 61, "grease-post": 44,
	"solvent-ipa": 212,
}

func (w *shop) containers() (rows [][]string) {
	for _, i := range w.items {
		if tare, known := bottleTares[i.code]; known {
			rows = append(rows, []string{bottle(i.code), "Open bottle, " + i.name, i.code, trim(tare, 1), map[bool]string{true: num(i.pack)}[i.unit == "ml"]})
		}
	}
	return rows
}

func bottle(item string) string { return "open-" + item }

// weighBottles counts sealed bottles and weighs the open one. On one Friday a
// bottle of lower leg oil was on the shelf that was booked in on the Monday.
func (w *shop) weighBottles(d inventory.Date) {
	for _, i := range w.items {
		if i.unit == "ea" {
			continue
		}
		there := w.stock[i.code]
		if i.code == "oil-lower" && d == inventory.NewDate(2026, 5, 8) {
			there += i.pack
		}
		w.counts = append(w.counts, []string{i.code, d.String(), "", "", "", ""})
		sealed := math.Floor(there / i.pack)
		open := there - sealed*i.pack
		number := 1
		for range int(sealed) {
			w.parts = append(w.parts, []string{i.code, d.String(), strconv.Itoa(number), "", num(i.pack), "", "", "", ""})
			number++
		}
		temp := 16 + math.Round(bench.Float64()*80)/10
		gross := bottleTares[i.code] + open*weightOf(i, temp)
		row := []string{i.code, d.String(), strconv.Itoa(number), bottle(i.code), "", trim(gross, 1), trim(bottleTares[i.code], 1), trim(temp, 1), (d - inventory.Date(10+d%20)).String()}
		if i.unit == "g" {
			row[7] = ""
		}
		w.parts = append(w.parts, row)
	}
}

// countParts counts the parts that jobs take most of, every fourth Friday of the
// last half year. Crush washers roll under the bench: three in four weeks.
func (w *shop) countParts(d inventory.Date) {
	for _, i := range w.items {
		if i.kind != "wiper" && i.code != "washer-crush" && i.code != "nut-foot" && i.code != "valve-core" {
			continue
		}
		there := w.stock[i.code]
		if i.code == "washer-crush" {
			w.lost += 3
			there = max(0, there-w.lost)
		}
		w.counts = append(w.counts, []string{i.code, d.String(), num(there), "", "", ""})
	}
}

// weightOf is the weight in g of an ml at a temperature, or of a g.
func weightOf(i item, temp float64) float64 {
	if i.unit == "g" {
		return 1
	}
	base, _ := strconv.ParseFloat(i.extra["density_kg_m3"], 64)
	return base / 1000 * inventory.VolumeCorrection(base, temp)
}

// people are invented.
var people = []string{"Ansa", "Piet", "Runa"}

// benched says who did which job; dampers are mostly one's.
func (w *shop) benched() {
	for _, j := range w.jobs {
		if j.state != "done" {
			continue
		}
		j.doneBy = people[bench.IntN(len(people))]
		if strings.HasSuffix(j.service, "-full") && bench.Float64() < .5 {
			j.doneBy = "Runa"
		}
	}
}

// disposals are what was gathered at each month's end and what the carrier
// fetched at each quarter's: of oil nearly all that was used, of solvent less
// than half, since it dries off.
func (w *shop) disposals() (rows [][]string) {
	held := map[string]float64{}
	for month := inventory.NewDate(2025, 1, 1); month.AddMonths(1) <= end; month = month.AddMonths(1) {
		last, number := month.AddMonths(1)-1, 0
		for _, stream := range []string{"oil", "solvent"} {
			share := map[string]float64{"oil": .9 + .06*bench.Float64(), "solvent": .35 + .15*bench.Float64()}[stream]
			gathered := math.Round(w.used(stream, month, last)*share/50) * 50
			if gathered == 0 {
				continue
			}
			number++
			held[stream] += gathered
			rows = append(rows, []string{last.String(), strconv.Itoa(number), stream, "gathered", num(gathered), "", "", "", ""})
			if month.Time().Month()%3 == 0 {
				number++
				rows = append(rows, []string{last.String(), strconv.Itoa(number), stream, "handed-over", num(held[stream]), "", "Tarn Valley Waste (invented)", fmt.Sprintf("TV-%d", 4100+len(rows)), ""})
				held[stream] = 0
			}
		}
	}
	return rows
}

// used is what the cards say of a kind of fluid in ml, from a day to a day.
func (w *shop) used(kind string, from, to inventory.Date) (sum float64) {
	for _, u := range w.uses {
		j := w.jobs[slices.IndexFunc(w.jobs, func(j *job) bool { return j.code == u[0] })]
		if i := w.byCode[u[1]]; i.kind == kind && i.unit == "ml" && from <= j.doneOn && j.doneOn <= to {
			qty, _ := strconv.ParseFloat(u[3], 64)
			sum += qty
		}
	}
	return sum
}
