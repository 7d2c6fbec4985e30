package main

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"

	"circlip/inventory"
)

// table is the rows of one table as cells in the order of its columns.
type table [][]string

// generated makes a small whole book from a seed: a workshop with every table,
// codes and names that spreadsheet programs like to take for something else,
// blank cells wherever the book allows one, and rows in no order.
func generated(seed uint64) map[string]table {
	g := &generator{Rand: rand.New(rand.NewPCG(seed, 1)), tables: map[string]table{}}
	g.shelf()
	g.bench()
	g.past()
	g.settings()
	for name := range g.tables {
		rows := g.tables[name]
		g.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
	}
	return g.tables
}

type generator struct {
	*rand.Rand
	tables                 map[string]table
	items, units, services []string
	measures               []string // of the items
}

// tricky are names that programs like to take for something else.
var tricky = []string{"007", "1e5", "=1+1", "-1+3", "+43 1", "@home", "TRUE", "2027-03-01", "3Q24", "1/2", "12:30", `say "hi"`, "a;b,c", "<&>", "two\nlines", "ä 油", "'quoted", "0.10"}

func (g *generator) add(table string, cells ...string) {
	g.tables[table] = append(g.tables[table], cells)
}

// often gives the text three times out of four, else a blank.
func (g *generator) often(text string) string {
	if g.IntN(4) == 0 {
		return ""
	}
	return text
}

func (g *generator) one(of ...string) string { return of[g.IntN(len(of))] }

// upTo is a whole number from 1.
func (g *generator) upTo(n int) string { return strconv.Itoa(1 + g.IntN(n)) }

// amount is a decimal with two digits.
func (g *generator) amount(most int) string {
	return fmt.Sprintf("%d.%02d", g.IntN(most), 1+g.IntN(99))
}

// quantity is one that a measure can hold.
func (g *generator) quantity(measure string, most int) string {
	if measure == "ea" {
		return g.upTo(most)
	}
	return fmt.Sprintf("%d.%d", 1+g.IntN(most), g.IntN(10))
}

// day is so many days after 2026-01-01, and up to spread more.
func (g *generator) day(after, spread int) string {
	start, err := inventory.ParseDate("2026-01-01")
	if err != nil {
		panic(err)
	}
	return (start + inventory.Date(after+g.IntN(spread))).String()
}

func (g *generator) settings() {
	g.tables["settings"] = table{
		{"workshop", "bench " + g.one("north", "007", "ä")}, {"currency", "EUR"}, {"time_zone", g.one("Europe/Vienna", "America/Denver")},
		{"readiness", g.one("0.9", "0.95", "")}, {"learn", "no"}, {"horizon_weeks", "8"}, {"budget", g.one("none", "400", "1000.50")},
	}
}

// shelf fills the tables of items, suppliers and stock.
func (g *generator) shelf() {
	for _, s := range []string{"hollin", "0012"} {
		g.add("suppliers", s, g.often(g.one(tricky...)), g.often(g.one("mon", "fri")), g.often("14:00"), g.upTo(9), g.often(g.upTo(80)), g.often(g.amount(9)), g.often(g.upTo(300)))
	}
	for i := range 9 {
		code, measure, kind := fmt.Sprintf("item-%d", i), "ea", g.one("seal", "wiper", "o-ring", "spacer")
		switch i {
		case 0:
			code = "007"
		case 1, 2:
			measure, kind = "ml", "oil"
		case 3:
			measure, kind = "g", "grease"
		case 4:
			kind = "kit"
		}
		g.items, g.measures = append(g.items, code), append(g.measures, measure)
		g.add("items", code, g.often(tricky[(i+g.IntN(9))%len(tricky)]), kind, measure, g.often("NBR"), g.often(g.upTo(90)), g.often(g.one("yes", "no")),
			g.often(g.amount(40)), g.often(g.amount(9)), g.often("70"), "8"+g.upTo(90), g.often("15.2"), g.often("-20"), g.often(g.one(tricky...)), g.often("6291041500213"))
		pack := g.quantity(measure, 20)
		for breaks, from := range []string{"1", "10"}[:1+g.IntN(2)] {
			g.add("offers", code, g.one("hollin"), from, g.often(g.one(tricky...)), pack, g.often("2"), g.often("1"), fmt.Sprintf("%d.%02d", 20-breaks, i), g.often(g.upTo(9)))
		}
		g.add("stock", code, "L"+strconv.Itoa(i), g.quantity(measure, 30)+"", g.day(0, 1), g.often(g.one("3Q24", "2024-08-15")), g.often("2031-12-31"), g.often(g.amount(9)))
		if i%3 == 1 {
			g.add("counts", code, g.day(80, 5), g.quantity(measure, 20), "", "", "")
		}
	}
	g.add("counts", "item-1", g.day(90, 5), "", "1780.5", "180", g.often("-3.5"))
	g.add("kits", "item-4", "item-5", "2")
	g.add("kits", "item-4", "item-6", "1")
	g.add("alternates", "item-1", "item-2", g.often("1"), g.often(g.one(tricky...)))
}

// bench fills the tables of models, services and units.
func (g *generator) bench() {
	for _, family := range []string{"fork", "shock"} {
		lower, full := family+"-lower", family+"-full"
		g.services = append(g.services, lower, full)
		g.add("services", lower, g.often(g.one(tricky...)), family, g.upTo(80), g.often(g.upTo(12)), "", g.often("45"))
		g.add("services", full, g.often(g.one(tricky...)), family, "200", g.often("24"), lower, g.often("90"))
		model := family + "-150"
		g.add("models", model, g.often(g.one(tricky...)), family)
		for i, item := range g.items {
			if g.IntN(2) == 0 {
				g.add("bom", g.one(lower, full), g.one("*", model), item, g.often("2026-01-01"), g.quantity(g.measures[i], 4), g.often("0.5"), g.often("0.05"), g.often("2027-01-01"))
			}
		}
		for range 4 {
			unit := fmt.Sprintf("%s-%d", family, len(g.units))
			g.units = append(g.units, unit)
			g.add("units", unit, model, g.one("fleet", "customer"), g.often("rental"), g.often(g.amount(12)), g.often("2025-03-01"), "")
			hours := 0.0
			for week := range 5 {
				hours += g.Float64() * 20
				g.add("readings", unit, g.day(7*week, 7), strconv.FormatFloat(hours, 'f', 2, 64), g.often("no"))
			}
		}
	}
	for week := 1; week <= 53; week++ {
		if g.IntN(3) == 0 {
			g.add("season", strconv.Itoa(week), g.amount(2))
		}
	}
}

// past fills the tables of jobs and orders.
func (g *generator) past() {
	for i := range 24 {
		job, unit := fmt.Sprintf("%04d", i), g.one(g.units...)
		family, _, _ := strings.Cut(unit, "-")
		service := family + g.one("-lower", "-full", "-lower;"+family+"-full")
		state, on, off := "booked", "", ""
		if i < 12 {
			state, on = "done", g.day(40, 20)
			item := 1 + g.IntN(3) // fluids, in quantities that the shelf has
			g.add("job_use", job, g.items[item], g.often("L"+strconv.Itoa(item)), g.quantity(g.measures[item], 1))
		} else if i < 15 {
			state = g.one("no-show", "cancelled")
			off = []string{"2026-02-14", ""}[i%2]
		}
		of := g.often(unit)
		g.add("jobs", job, of, family+"-150", service, g.often(g.day(10, 20)), g.day(40, 60), state, on, off)
		if of != "" {
			g.add("setups", job, "before", "", "2026-02-14", "5.8", "", "two clicks, firm", "", tricky[i%len(tricky)])
			g.add("setups", job, "after", of, "2026-02-15", "", "9", tricky[i%len(tricky)], "0", "")
		}
	}
	for i := range 6 {
		item := g.IntN(len(g.items))
		received, packs := "", ""
		if i < 4 {
			received, packs = g.day(20, 10), g.often(g.upTo(2))
		}
		g.add("orders", fmt.Sprintf("PO%d", i), g.items[item], "hollin", g.upTo(3), g.day(5, 9), g.often(g.day(15, 9)), received, packs)
	}
}
