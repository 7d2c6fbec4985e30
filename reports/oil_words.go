package reports

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// oilSentence says what the audit of an item comes to: how much, since when, what
// it is worth, where the cards stand, what explains it best. It states amounts
// and never a reason in a person.
func oilSentence(a audit.Audit, of audit.ItemAudit) string {
	text := shortSentence(a, of) + runnerUp(a, of)
	if n := len(of.Changes); n > 0 {
		text += " " + suggestion(a, of)
		if n > 1 {
			text += fmt.Sprintf(" %d more %s suggested.", n-1, oneMany(n-1, "change is", "changes are"))
		}
	}
	return text
}

// shortSentence is the same without what comes next and what to do about the
// bill, for a page that has other things to tell.
func shortSentence(a audit.Audit, of audit.ItemAudit) string {
	return latestSaid(a, of) + notSince(a, of)
}

// notSince says that the latest count is long ago by the item's own rhythm:
// what is said of it is said of then.
func notSince(a audit.Audit, of audit.ItemAudit) string {
	var days []float64
	for _, p := range of.Periods {
		days = append(days, float64(p.Days()))
	}
	if last := lastDayOf(of); float64(a.AsOf-last) > max(14, 2*middle(days)) {
		return " It was last counted on " + dayIn(last, a.AsOf) + "."
	}
	return ""
}

// latestSaid is how the charts stand after the latest count, and what may
// explain that count.
func latestSaid(a audit.Audit, of audit.ItemAudit) string {
	text, reason := itemName(of.Item)+": ", latestReason(of)
	only, is := alone(of)
	_, runs := lasting(of)
	switch {
	case is && runs:
		return text + verdict(a, of) + ". Besides, " + oneCount(of, only, reason) + "."
	case is:
		return text + oneCount(of, only, reason) + "."
	case reason == "":
		return text + verdict(a, of) + "."
	}
	return text + verdict(a, of) + ". The latest count " + reason + "."
}

// verdict is the first part of a sentence, by how the latest run of signals
// stands.
func verdict(a audit.Audit, of audit.ItemAudit) string {
	e, any := latestRun(of)
	switch {
	case any && e.Open:
		return fmt.Sprintf("%s than the bill of materials allows, since the week of %s (%s): %s", moves(of, e, true), weekOf(e.Began, a.AsOf),
			commas(plural(weeksBetween(e.Began-1, lastDayOf(of)), "week", "weeks"), costs(a, of, e.Money)), explains(a, of, e))
	case any:
		return fmt.Sprintf("from the week of %s until %s %s than the bill of materials allows%s; since then nothing beyond what chance explains",
			weekOf(e.Began, a.AsOf), dayIn(of.Periods[e.End].To, a.AsOf), moves(of, e, false), inBrackets(costs(a, of, e.Money)))
	}
	return quiet(of)
}

// signalSentences are those of the items whose latest episode lasts, or is
// their latest count.
func signalSentences(a audit.Audit) []string {
	var sentences []string
	for _, of := range bySignal(a) {
		if signals(of) {
			sentences = append(sentences, shortSentence(a, of))
		}
	}
	return sentences
}

// signals reports whether the charts say something of an item as it stands now.
func signals(of audit.ItemAudit) bool {
	_, runs := lasting(of)
	_, is := alone(of)
	return runs || is
}

// moves says how much more or less leaves, a week.
func moves(of audit.ItemAudit, e audit.Episode, now bool) string {
	direction, verb := "more", leaves(of.Item, now)
	if e.Direction == audit.Low {
		direction = "less"
	}
	amount := math.Abs(e.PerWeek)
	if of.Item.Measure != inventory.Each {
		return fmt.Sprintf("about %s %s a week %s %s", roughly(amount), of.Item.Measure, direction, verb)
	}
	if amount < fewPieces && amount > 0 {
		verb = strings.NewReplacer("are", "is", "were", "was").Replace(verb)
		return fmt.Sprintf("about one piece %s every %s %s", direction, weeksForOne(amount), verb)
	}
	return fmt.Sprintf("about %s pieces a week %s %s", roughly(amount), direction, verb)
}

// leaves is what an item does when it is used.
func leaves(i inventory.Item, now bool) string {
	switch {
	case i.Measure == inventory.Each && now:
		return "are taken from the shelf"
	case i.Measure == inventory.Each:
		return "were taken from the shelf"
	case i.Kind == inventory.Oil && now:
		return "leaves the bottle"
	case i.Kind == inventory.Oil:
		return "left the bottle"
	case now:
		return "leaves the shelf"
	}
	return "left the shelf"
}

// roughly is a number as one says it: to two digits.
func roughly(x float64) string {
	if x < 0.005 {
		return "0" // no more than two decimals are said
	}
	digits := 1 - int(math.Floor(math.Log10(x)))
	scale := math.Pow(10, float64(digits))
	text := strconv.FormatFloat(math.Round(x*scale)/scale, 'f', max(0, min(digits, 2)), 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return grouped(text)
}

// costs is an amount of money; nothing where no price is known.
func costs(a audit.Audit, of audit.ItemAudit, m inventory.Money) string {
	if of.Cost == 0 {
		return ""
	}
	return amount(abs(m), a.Currency)
}

// commas puts a comma between texts that are not empty.
func commas(texts ...string) string {
	return strings.Join(slices.DeleteFunc(texts, func(t string) bool { return t == "" }), ", ")
}

// inBrackets sets a text that may be empty behind another.
func inBrackets(text string) string {
	if text == "" {
		return ""
	}
	return " (" + text + ")"
}

// weekOf is the Monday of a day's week; dayIn a day: both with the year where
// it is not that of the audit.
func weekOf(d, asOf inventory.Date) string { return dayIn(d.Week().Monday(), asOf) }

func dayIn(d, asOf inventory.Date) string {
	if d.Time().Year() == asOf.Time().Year() {
		return d.Time().Format("2 January")
	}
	return d.Time().Format("2 January 2006")
}

// lastDayOf is the day of the latest count.
func lastDayOf(of audit.ItemAudit) inventory.Date { return of.Periods[len(of.Periods)-1].To }

// oneCount tells of one count that is far beyond all others, and what fits it.
func oneCount(of audit.ItemAudit, e audit.Episode, reason string) string {
	p := of.Periods[e.End]
	direction := "more"
	if e.Direction == audit.Low {
		direction = "less"
	}
	text := fmt.Sprintf("%s %s had left at the count of %s alone", quantity(max(p.Excess(), -p.Excess()), of.Item.Measure), direction, shortDay(p.To))
	if reason == "" {
		return text + " than the bill of materials allows"
	}
	return text + ": " + reason
}

// latestReason is what may explain the latest period, the likeliest alone.
func latestReason(of audit.ItemAudit) string {
	if len(of.Periods) == 0 {
		return ""
	}
	for _, f := range of.Periods[len(of.Periods)-1].Findings {
		switch f.Kind {
		case audit.BookedLate, audit.Whole, audit.GramsAsML, audit.MLAsGrams, audit.Miscounted, audit.Negative:
			return findingText(f, of.Item)
		}
	}
	return ""
}

// quiet says that nothing is to be seen, and what would have been.
func quiet(of audit.ItemAudit) string {
	text := "what left is within what chance explains"
	if n := len(of.Periods); n < 6 {
		text = fmt.Sprintf("%s so far, within what chance explains", plural(n, "period", "periods"))
	}
	seen := seenPerWeek(of)
	switch {
	case seen <= 0:
		return text
	case of.Item.Measure == inventory.Each:
		return fmt.Sprintf("%s; a steady loss of about %s would be seen within %d counts", text, pieces(seen), seenWithin)
	}
	return fmt.Sprintf("%s; a steady loss of about %s %s a week would be seen within %d counts", text, roughly(seen), of.Item.Measure, seenWithin)
}

// pieces is a number of pieces a week; few of them are told by the weeks that
// go by for one.
func pieces(perWeek float64) string {
	if perWeek < fewPieces {
		return "one piece every " + weeksForOne(perWeek)
	}
	return roughly(perWeek) + " pieces a week"
}

// weeksForOne is how many weeks go by for one piece, ten years at the most.
func weeksForOne(perWeek float64) string {
	return plural(int(math.Round(min(1/perWeek, 520))), "week", "weeks")
}

// fewPieces is below how many a week one speaks of single ones.
const fewPieces = 0.75

// explains says where the difference of an episode stands in the cards, and
// what explains it best.
func explains(a audit.Audit, of audit.ItemAudit, e audit.Episode) string {
	text := onCards(of, e)
	if of.Blame != nil {
		text += "; " + blamed(a, of, *of.Blame)
	}
	return text
}

// onCards says how much of an episode stands on job cards. What one count alone
// was off by is no part of it.
func onCards(of audit.ItemAudit, e audit.Episode) string {
	var unrecorded, excess float64
	for i := e.Start; i <= e.End; i++ {
		if slices.ContainsFunc(of.Episodes, func(o audit.Episode) bool { return o.Once && o.End == i }) {
			continue
		}
		unrecorded += float64(of.Periods[i].Unrecorded())
		excess += float64(of.Periods[i].Excess())
	}
	share := 0.0
	if excess != 0 {
		share = unrecorded / excess
	}
	low := e.Direction == audit.Low
	switch {
	case share > 2.0/3 && low:
		return "the job cards do not show it"
	case share > 2.0/3:
		return "most of it on no job card"
	case share < 1.0/3 && low:
		return "the job cards say less too"
	case share < 1.0/3:
		return "most of it on the job cards, beyond the bill"
	}
	return "in part on the job cards, in part on none"
}

// blamed names what explains an episode best, with its probability among all
// candidates.
func blamed(a audit.Audit, of audit.ItemAudit, b audit.Blame) string {
	odds := fmt.Sprintf("(%.0f in 100)", 100*b.Prob)
	best := "explains it best"
	if b.Prob < 0.5 {
		best = "comes first, and no one thing explains it well"
	}
	switch b.By {
	case audit.ByService:
		return fmt.Sprintf("%s %s %s", theService(a, b.Code), best, odds)
	case audit.ByModel:
		return fmt.Sprintf("work on %s %s %s", modelCalled(a, b.Code), best, odds)
	case audit.ByPerson:
		direction := "more"
		if b.Extra < 0 {
			direction = "less"
		}
		return fmt.Sprintf("the jobs of %s took about %s %s each %s than the bill %s; that says how much, not why",
			b.Code, roughly(math.Abs(b.Extra)), of.Item.Measure, direction, odds)
	}
	return fmt.Sprintf("it is the same amount a week whatever jobs are done %s", odds)
}

// runnerUp is the service that is likeliest next, where the first is not clear
// of it.
func runnerUp(a audit.Audit, of audit.ItemAudit) string {
	b := of.Blame
	if _, open := lasting(of); !open || b == nil || b.RunUp == "" || b.Prob >= 0.8 || b.RunProb < 0.05 {
		return ""
	}
	return fmt.Sprintf(" Next comes %s (%.0f in 100).", theService(a, b.RunUp), 100*b.RunProb)
}

// suggestion is the first change of the bill that the estimates suggest.
func suggestion(a audit.Audit, of audit.ItemAudit) string {
	c := of.Changes[0]
	m := of.Item.Measure
	on := ""
	if c.Line.Model != inventory.AnyModel {
		on = " on " + modelCalled(a, c.Line.Model)
	}
	return fmt.Sprintf("Suggested for the bill: %s instead of %s for %s%s.", quantity(c.Qty, m), quantity(c.Line.Qty, m), theService(a, c.Line.Service), on)
}

// theService speaks of a service: by its name, or by its code, said to be one.
func theService(a audit.Audit, code string) string {
	if name := serviceCalled(a, code); name != code {
		return name
	}
	return "the service " + code
}

// serviceCalled is a service's name, modelCalled a model's; the code where the
// book has none.
func serviceCalled(a audit.Audit, code string) string {
	for _, s := range a.Services {
		if s.Code == code && s.Name != "" {
			return s.Name
		}
	}
	return code
}

func modelCalled(a audit.Audit, code string) string {
	for _, m := range a.Models {
		if m.Code == code && m.Name != "" {
			return m.Name
		}
	}
	return code
}

// oilSentences are those of the page of the plan: what has a signal first, then
// the latest period of each of the others, the most unrecorded first.
func oilSentences(a audit.Audit) []string {
	if len(a.Items) == 0 {
		return []string{"No fluid has been counted twice yet. Count oil and grease today and again in a few weeks; from then on this page says where they went."}
	}
	sentences := signalSentences(a)
	for _, of := range byUnrecorded(a) {
		if !signals(of) {
			sentences = append(sentences, periodSentence(of.Item, of.Periods[len(of.Periods)-1]))
		}
	}
	return clipped(sentences, pageFluids)
}

// periodSentence tells the two differences of a period in words, each in the
// direction in which it went.
func periodSentence(i inventory.Item, p audit.Period) string {
	q := func(q inventory.Quantity) string { return quantity(q, i.Measure) }
	var s strings.Builder
	fmt.Fprintf(&s, "%s, %s to %s: ", itemName(i), shortDay(p.From), shortDay(p.To))
	if p.Drawn() < 0 {
		return s.String() + q(-p.Drawn()) + " more was found than can have been there."
	}
	s.WriteString(q(p.Drawn()) + " left the shelf, ")
	switch missing := p.Unrecorded(); {
	case missing > 0:
		s.WriteString(q(missing) + " of it on no job card")
	case missing < 0:
		s.WriteString(q(-missing) + " less than the job cards say")
	default:
		s.WriteString("all of it on job cards")
	}
	switch over := p.OverStandard(); {
	case over > 0:
		fmt.Fprintf(&s, "; the cards of %s took %s more than the standard", plural(p.Jobs, "job", "jobs"), q(over))
	case over < 0:
		fmt.Fprintf(&s, "; the cards of %s took %s less than the standard", plural(p.Jobs, "job", "jobs"), q(-over))
	}
	return s.String() + "."
}
