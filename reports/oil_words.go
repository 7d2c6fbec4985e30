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
	return text + verdict(a, of) + ". " + ofLatest(reason) + "."
}

// ofLatest says of the latest count what may explain it.
func ofLatest(reason string) string {
	if strings.HasPrefix(reason, fits) {
		return "The latest count " + reason
	}
	return "At the latest count " + reason
}

// verdict is the first part of a sentence, by how the latest run of signals
// stands.
func verdict(a audit.Audit, of audit.ItemAudit) string {
	e, any := of.LastRun()
	switch {
	case any && e.Open:
		return fmt.Sprintf("%s than the bill of materials allows, since the week of %s (%s): %s", moves(of, e, true), weekBegan(e, a.AsOf),
			commas(plural(weeksBetween(e.Began-1, lastDayOf(of)), "week", "weeks")+butFor(a, of, e.Start), costs(a, of, e.Money)), explains(a, of, e))
	case any:
		return fmt.Sprintf("from the week of %s until %s %s than the bill of materials allows%s; since then nothing beyond what chance explains",
			weekBegan(e, a.AsOf), dayIn(of.Periods[e.End].To, a.AsOf), moves(of, e, false), inBrackets(costs(a, of, e.Money))) + butFor(a, of, e.End+1)
	}
	return quiet(a, of)
}

// butFor names the counts from a period on that were off by themselves, which
// what is said of the others is not said of. Two periods that one odd count
// parts are one.
func butFor(a audit.Audit, of audit.ItemAudit, from int) string {
	var days []inventory.Date
	for _, e := range of.Episodes {
		rest := e.End > 0 && of.Periods[e.End-1].Joined
		if e.Once && e.End >= from && e.End < len(of.Periods)-1 && !rest {
			days = append(days, of.Periods[e.End].To)
		}
	}
	switch len(days) {
	case 0:
		return ""
	case 1:
		return " but for the count of " + dayIn(days[0], a.AsOf)
	}
	return fmt.Sprintf(" but for %d counts, the latest of %s", len(days), dayIn(days[len(days)-1], a.AsOf))
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
	direction, verb := moreOrLess(e.Direction == audit.Low), leaves(of.Item, now)
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

// moreOrLess says in which direction a difference goes.
func moreOrLess(less bool) string {
	if less {
		return "less"
	}
	return "more"
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

// weekBegan is the Monday of the week that has most of the first seven days of an
// episode: what began after the count of a Friday began in the week that follows.
func weekBegan(e audit.Episode, asOf inventory.Date) string {
	return dayIn((e.Began + 3).Week().Monday(), asOf)
}

// dayIn is a day, with its year where that is not the audit's.
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
	p, direction := of.Periods[e.End], moreOrLess(e.Direction == audit.Low)
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
	last := len(of.Periods) - 1
	for _, f := range of.Periods[last].Findings {
		switch f.Kind {
		case audit.GramsAsML, audit.MLAsGrams:
			return findingText(f, of.Item) + unitsBefore(of, last, f.Kind)
		case audit.BookedLate, audit.Whole, audit.Miscounted, audit.TareChanged, audit.Unexplained, audit.Negative:
			return findingText(f, of.Item)
		case audit.NoCards:
			if f.Qty != 0 {
				return findingText(f, of.Item)
			}
		}
	}
	return ""
}

// unitsBefore says at how many counts running before a period the unit was the
// wrong one, too.
func unitsBefore(of audit.ItemAudit, period int, kind audit.FindingKind) string {
	n := 0
	for n < period && slices.ContainsFunc(of.Periods[period-n-1].Findings, func(f audit.Finding) bool { return f.Kind == kind && f.On == of.Periods[period-n-1].To }) {
		n++
	}
	if n == 0 {
		return ""
	}
	return "; likewise at " + plural(n, "count", "counts") + " before"
}

// quiet says that nothing is to be seen, and what would have been.
func quiet(a audit.Audit, of audit.ItemAudit) string {
	text := "what left is within what chance explains"
	if n := len(of.Periods); n < fewPeriods {
		text = fmt.Sprintf("%s so far, within what chance explains", plural(n, "period", "periods"))
	}
	text += butFor(a, of, 0)
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
