package reports

import (
	"fmt"
	"slices"
	"strings"

	"circlip/forecast/learn"
	"circlip/inventory"
	"circlip/reports/plan"
)

func (b explainer) item(at int) []part {
	i := b.shop.Items[at]
	out := b.outlook.Item(at)
	title := "What is known of item " + i.Code
	if i.Name != "" {
		title += ": " + i.Name
	}
	supply := part{name: "Supply", title: title, of: "Supplier"}
	if out.Offered {
		supply.figures = []figure{b.leadTime(out)}
	} else {
		supply.note = b.notOffered(i)
	}
	use := part{name: "Use", title: "Use until " + longDay(out.ProtectUntil), of: "From",
		note:    fmt.Sprintf("Expected from today until then: what an order placed on %s must last for.", longDay(out.PlaceBy)),
		figures: bySource("Expected use", unit{word: string(i.Measure), decimals: 1}, out.Booked, out.Fleet, out.Returning, out.WalkIn)}
	return append([]part{supply}, tables(b.needs(i), use)...)
}

// notOffered says what becomes of an item that nobody sells by itself.
func (b explainer) notOffered(i inventory.Item) string {
	for _, k := range b.shop.Kits {
		if k.Item == i.Code {
			return fmt.Sprintf("No supplier offers it by itself: where jobs take it, a kit is planned, such as %s; ask for that.", k.Kit)
		}
	}
	return "No supplier offers it: nothing is learnt of its lead time, and it cannot be ordered."
}

// leadTime is the days from order to delivery of the item's usual supplier.
func (b explainer) leadTime(out plan.ItemOutlook) figure {
	l := out.Lead
	f := figure{name: "Days to deliver", of: out.Offer.Supplier, unit: daysLong, book: new(float64(l.Quoted)), now: new(l.Mean()), words: notLearnt}
	if b.lessons.On {
		f.seen, f.words = &l.Receipts, leadWords(l)
		if l.Basis == learn.Learnt {
			f = f.within(float64(l.Quantile(0.05)), float64(l.Quantile(0.95)))
		}
	}
	return f
}

// needs are how often each line of the bills of materials is really taken.
func (b explainer) needs(i inventory.Item) part {
	p := part{name: "Need", title: "How often jobs take it", of: "Model"}
	if b.lessons.On {
		p.note = "Of the jobs whose use was recorded, how many took the item. Several services done together that all take it say nothing of any of them."
	}
	for at, line := range b.shop.BOM {
		if line.Item != i.Code {
			continue
		}
		f := figure{name: line.Service, of: line.Model, unit: share, book: &line.Need, now: &line.Need, words: notLearnt}
		if f.of == "*" {
			f.of = "all models"
		}
		if b.lessons.On {
			s := b.lessons.Needs[at].Share
			f.seen, f.now, f.words = new(s.Yes+s.No), new(s.Mean()), shareWords(s, "jobs that recorded what they used", "took it")
			f = f.within(s.Interval(0.9))
		}
		f.words += " " + lineWords(line, i.Measure)
		p.figures = append(p.figures, f)
	}
	slices.SortStableFunc(p.figures, func(a, b figure) int { return strings.Compare(a.name, b.name) })
	return p
}

// lineWords is what a job takes of an item, where it takes any.
func lineWords(l inventory.BOMLine, m inventory.Measure) string {
	words := fmt.Sprintf("A job that takes it takes %s %s", m.Format(l.Qty), m)
	if l.Waste > 0 {
		words += fmt.Sprintf(" and wastes %s of that", percent(l.Waste))
	}
	switch {
	case !l.From.IsZero() && !l.To.IsZero():
		words += fmt.Sprintf(", from %s until %s", l.From, l.To)
	case !l.From.IsZero():
		words += fmt.Sprintf(", from %s on", l.From)
	case !l.To.IsZero():
		words += fmt.Sprintf(", until %s", l.To)
	}
	return words + "."
}
