package reports

import (
	"fmt"
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/reports/plan"
)

// How much of a list stands on the page; the rest is counted.
const (
	pageSuppliers = 5
	pageJobs      = 3
	pageLacks     = 2 // of each job
	pageFluids    = 3
	pageWarnings  = 5
	pageWatched   = 3 // of limits, calls, ageing lots and what is worth bringing forward
)

// Page is the plan on one page of text, 80 columns wide, for somebody who has
// a minute: what to order by when and for how much, what that buys, which
// booked jobs are short and what to do, where the oil went.
func Page(p plan.Plan) string {
	var out strings.Builder
	name, day := Plain(p.Workshop), longDay(p.AsOf)
	name = shorten(name, lineWidth-width(day)-columnGap)
	out.WriteString(name + strings.Repeat(" ", lineWidth-width(name)-width(day)) + day + "\n")
	section := func(title, mark string, body ...string) {
		if len(body) > 0 {
			out.WriteString("\n" + strings.ToUpper(title) + "\n")
			paragraphs(&out, mark, body)
		}
	}
	section("What to order", "  ", orderSentence(p))
	pageOrders(&out, p)
	section("What that buys", "  ", readinessSentences(p)...)
	section("What limits cut", "  - ", clipped(limitSentences(p), pageWatched)...)
	section("Worth bringing forward", "  - ", clipped(forwardSentences(p), pageWatched)...)
	section("Booked jobs", "  ", jobSentences(p)...)
	pageShort(&out, p)
	section("To chase", "  - ", clipped(chaseSentences(p), pageWatched)...)
	section("Ageing out", "  - ", clipped(ageingSentences(p), pageWatched)...)
	section("Oil and grease", "  - ", oilSentences(p.Oil)...)
	if len(p.Curve) > 1 {
		section("What readiness costs", "  ", curveSentence)
		pageCurve(&out, p)
	}
	section("Take note", "  - ", clipped(otherWarnings(p), pageWarnings)...)
	section("Cautions", "  - ", cautions...)
	return out.String()
}

// orderSentence says for how much to order by which day; who gets what stands
// in the table below it.
func orderSentence(p plan.Plan) string {
	if len(p.Orders) == 0 && len(p.Limits) > 0 {
		return "Nothing is ordered: what is needed goes beyond the limits, see below."
	}
	if len(p.Orders) == 0 {
		return "Nothing to order today: what is on the shelf and on order lasts until the next delivery."
	}
	var days []inventory.Date
	byDay := map[inventory.Date]int{}
	for _, o := range p.Orders {
		if byDay[o.PlaceBy] == 0 {
			days = append(days, o.PlaceBy)
		}
		byDay[o.PlaceBy]++
	}
	slices.Sort(days)
	var parts []string
	for _, d := range days {
		when := "by " + shortDay(d)
		if d <= p.AsOf {
			when = "today"
		}
		parts = append(parts, fmt.Sprintf("from %s %s", plural(byDay[d], "supplier", "suppliers"), when))
	}
	return fmt.Sprintf("%s in all: %s.", amount(spend(p), p.Currency), strings.Join(parts, ", "))
}

// pageOrders is the table of the summary, without what stands around it and
// with days as they are said, the hour beside the one to order by; the total
// is that of all suppliers, also of those that are not listed.
func pageOrders(out *strings.Builder, p plan.Plan) {
	if len(p.Orders) == 0 {
		return
	}
	s := Summary(p)
	by, comes := s.column("Place by"), s.column("Last comes on")
	s.Columns[by].Kind, s.Columns[comes].Name = TextKind, "Last comes"
	for i, o := range p.Orders {
		s.Rows[i].Cells[by] = Words(placeBy(p, o))
		s.Rows[i].Cells[comes] = Words(dayMonth(lastDay(o)))
	}
	if len(s.Rows) > pageSuppliers {
		s.Totals[0].Name = fmt.Sprintf("All %d suppliers", len(s.Rows))
		s.Rows = s.Rows[:pageSuppliers]
	}
	out.WriteString("\n")
	writeRows(out, s)
	if moved := movedSentences(p); len(moved) > 0 {
		out.WriteString("\n")
		paragraphs(out, "  ", clipped(moved, pageSuppliers))
	}
}

// curveSentence says what the table of the curve is and how to choose.
const curveSentence = "So much stock makes so many jobs ready. Choose with --readiness or --budget."

// pageCurve is the part of the curve from which a manager chooses.
func pageCurve(out *strings.Builder, p plan.Plan) {
	out.WriteString("\n")
	writeRows(out, CurveAround(p))
}

// movedSentences tell of the orders that go on another day than usual.
func movedSentences(p plan.Plan) []string {
	var sentences []string
	for _, o := range p.Orders {
		if o.Moved != "" {
			sentences = append(sentences, fmt.Sprintf("%s: order on %s, %s.", supplierName(o.Supplier), shortDay(o.PlaceBy), o.Moved))
		}
	}
	return sentences
}

// placeBy is the day and, where the supplier has one, the hour before which
// the order must be out.
func placeBy(p plan.Plan, o plan.Order) string {
	when := dayMonth(o.PlaceBy)
	if o.PlaceBy <= p.AsOf {
		when = "today"
	}
	return strings.TrimSpace(when + " " + o.Supplier.Cutoff)
}

// readinessSentences say what the order buys and how sure the two shares are:
// two standard errors, within which 19 of 20 such simulations would fall.
func readinessSentences(p plan.Plan) []string {
	r := p.Readiness
	sentences := []string{fmt.Sprintf(
		"Of the jobs that come between these deliveries and the next ones, %s find on their day what they wait for; without this order, %s. The target is %s%s",
		percent(r.WithOrder), percent(r.WithoutOrder), percent(r.Target), met(p))}
	if !r.Exact && r.StandardError > 0 {
		sentences[0] += fmt.Sprintf(" Both shares come from a simulation and are right to about %.2f points.", 200*r.StandardError)
	}
	if r.Aim > r.Target && r.WithOrder >= r.Target {
		sentences = append(sentences, fmt.Sprintf("The order aims at %s to be sure of the target: what was learnt may be off, and a late delivery makes several jobs wait at once.", percent(r.Aim)))
	}
	if n := waiting(p); n > 0 {
		sentences = append(sentences, fmt.Sprintf("%s %s parts before they come: see below.", plural(n, "booked job", "booked jobs"), oneMany(n, "needs", "need")))
	}
	return sentences
}

// waiting counts the booked jobs that are short only of time: all that they
// are sure to take comes, some of it after the bench date.
func waiting(p plan.Plan) int {
	n := 0
	for _, j := range shortages(p) {
		if day := j.worst(true); day > max(j.BenchDate, p.AsOf) && day != never {
			n++
		}
	}
	return n
}

// met ends the sentence on the target; a target that is missed is said, never
// left to be seen by comparing.
func met(p plan.Plan) string {
	switch {
	case p.Readiness.WithOrder >= p.Readiness.Target:
		return "."
	case len(p.Limits) > 0:
		return ", which this order does not reach: see below what limits cut."
	}
	return ", which this order does not reach: see under Take note what holds it back."
}

// jobSentences count the booked jobs by state and name those that are overdue.
func jobSentences(p plan.Plan) []string {
	states := map[inventory.KitState]int{}
	for _, k := range p.Kits {
		states[k.State]++
	}
	if len(p.Kits) == 0 {
		return []string{"None is booked. Enter the bench dates you know: they make the plan surer than any forecast."}
	}
	sentences := []string{fmt.Sprintf("Of %s %d %s ready, %d will be when what is on order comes, %d %s short.",
		plural(len(p.Kits), "booked job", "booked jobs"), states[inventory.Ready], isAre(states[inventory.Ready]),
		states[inventory.Coming], states[inventory.Short], isAre(states[inventory.Short]))}
	if late := overdue(p); len(late) > 0 {
		var names []string
		for _, k := range late {
			names = append(names, k.Job)
		}
		sentences = append(sentences, fmt.Sprintf("%d %s past the bench date, to be closed or moved: %s.", len(late), isAre(len(late)), listed(names, 8)))
	}
	return sentences
}

// pageShort tells each job that is short: what lacks, when it comes, and what
// to do with the job.
func pageShort(out *strings.Builder, p plan.Plan) {
	told, more := 0, 0
	for _, j := range shortages(p) {
		switch {
		case j.State != inventory.Short:
		case told == pageJobs:
			more++
		default:
			told++
			paragraphs(out, "  ! ", []string{fmt.Sprintf("%s, %s, %s: %s", j.Job, shortDay(j.BenchDate), j.onTheBench(), j.advice(p))})
			paragraphs(out, "      ", clipped(j.lacks(), pageLacks))
		}
	}
	if more > 0 {
		paragraphs(out, "  ", []string{fmt.Sprintf("%d more %s short: circlip kits, or the sheet Kits, lists %s.", more, isAre(more), oneMany(more, "it", "them"))})
	}
}

// lacks says of each critical line that is short how much of what and when it
// comes.
func (j jobShortage) lacks() []string {
	var texts []string
	for _, l := range j.lacking {
		if l.Short > 0 && l.Critical {
			texts = append(texts, fmt.Sprintf("lacks %s %s of %s%s (%s)", l.item.Measure.Format(l.Short), l.item.Measure, itemName(l.item), chanceOf(l.Probability), l.action))
		}
	}
	return texts
}

// chanceOf says how many such jobs take a part that not all take.
func chanceOf(p float64) string {
	if p == 1 {
		return ""
	}
	return ", which " + oftenOf(p) + " of such jobs take"
}

// oftenOf is a chance in whole per cent, the same on every page and paper: what
// not every job takes is never said to be taken by all of them, or by none.
func oftenOf(p float64) string {
	if p < 0.01 {
		return "fewer than 1 %"
	}
	return fmt.Sprintf("%.0f %%", min(100*p, 99))
}

// otherWarnings are those that tell of no limit: limits have a section of their
// own.
func otherWarnings(p plan.Plan) []string {
	return slices.DeleteFunc(slices.Clone(p.Warnings), func(warning string) bool {
		return slices.ContainsFunc(p.Limits, func(l plan.Limit) bool { return l.Warning == warning })
	})
}

// clipped keeps the first texts and counts the rest.
func clipped(texts []string, most int) []string {
	if len(texts) <= most {
		return texts
	}
	return append(slices.Clone(texts[:most]), fmt.Sprintf("… and %d more in the workbook.", len(texts)-most))
}

// plural counts things in words.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// oneMany is the word that goes with so many.
func oneMany(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// isAre is the verb for so many.
func isAre(n int) string { return oneMany(n, "is", "are") }
