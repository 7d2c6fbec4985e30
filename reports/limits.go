package reports

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"circlip/inventory"
	"circlip/reports/plan"
)

// Limits is what each limit cuts from the order that would reach the target,
// item by item, and what that costs in readiness.
func Limits(p plan.Plan) Sheet {
	s := Sheet{
		Key: "limits", Name: "Limits",
		Title: fmt.Sprintf("What limits cut · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{
			"A limit is the budget, the shelf life of an item, or the workshop's own limit on flammable litres. Beside each stands what share of jobs would be ready without it and is ready with it.",
			"A supplier's minimum cuts nothing; where an order stays below it, the shares are those with the order and, should the supplier not take it, without.",
		},
		Columns: []Column{
			{Name: "Limit"},
			{Name: "About", Rank: 3},
			{Name: "Allowed"},
			{Name: "Wanted"},
			{Name: "Ready without it", Unit: "%", Kind: ShareKind, Rank: 2},
			{Name: "Ready with it", Unit: "%", Kind: ShareKind, Rank: 2},
			{Name: "Costs", Unit: "points", Kind: NumberKind, Rank: 1},
			{Name: "Not ordered", Wrap: true},
			{Name: "Code", Rank: 4},
			{Name: "Quantity", Kind: QuantityKind},
			{Name: "Unit"},
		},
		Empty: "No limit cuts anything: what reaches the target may be ordered. A weekly budget and a limit on flammable litres are set in the book's settings.",
	}
	for _, l := range p.Limits {
		s.Rows = append(s.Rows, limitRows(p, l)...)
	}
	return s
}

// limitRows is a row for each item that is cut, each with the whole limit, so
// that rows can be sorted; one row where no item is.
func limitRows(p plan.Plan, l plan.Limit) []Row {
	head := []Cell{
		Words(string(l.Kind)), Words(about(p, l.Of)), Words(l.Allowed), Words(l.Wanted),
		Share(l.Without), Share(l.With), Figure(lostPoints(l), 1),
	}
	row := func(cells ...Cell) Row {
		return Row{Cells: append(head[:len(head):len(head)], cells...), Strong: l.With < p.Readiness.Target}
	}
	if len(l.Cut) == 0 {
		return []Row{row(Words("nothing"), Cell{}, Cell{}, Cell{})}
	}
	var rows []Row
	for _, c := range l.Cut {
		rows = append(rows, row(Words(itemName(c.Item)), Words(c.Item.Code), Measured(c.Qty, c.Item.Measure), Words(string(c.Item.Measure))))
	}
	return rows
}

// about is the name of the supplier or item that a limit is about.
func about(p plan.Plan, code string) string {
	for _, i := range p.Items {
		if i.Item.Code == code {
			return itemName(i.Item)
		}
	}
	for _, o := range p.Orders {
		if o.Supplier.Code == code {
			return supplierName(o.Supplier)
		}
	}
	return code
}

// lostPoints is what a limit costs, in points as the shares beside it show
// them; nothing where rounding alone would have it gain.
func lostPoints(l plan.Limit) float64 {
	return max(0, 100*(Share(l.Without).Number()-Share(l.With).Number()))
}

// limitSentences tell each limit on the page.
func limitSentences(p plan.Plan) []string {
	var sentences []string
	for _, l := range p.Limits {
		name := capital(string(l.Kind))
		if l.Of != "" {
			name += ", " + about(p, l.Of)
		}
		if l.Kind == plan.MinimumLimit {
			sentences = append(sentences, fmt.Sprintf("%s: %s are asked for, the order comes to %s. %s", name, l.Allowed, l.Wanted, refusalSentence(l)))
			continue
		}
		sentences = append(sentences, strings.TrimSpace(fmt.Sprintf("%s: wanted %s, allowed %s. %s %s", name, l.Wanted, l.Allowed, lossSentence(l), cutSentence(l))))
	}
	return sentences
}

// refusalSentence says what it would cost if a supplier does not take an order
// that stays below its minimum.
func refusalSentence(l plan.Limit) string {
	return fmt.Sprintf("If it is not taken, %s of jobs are ready instead of %s: add what will be needed next, or wait.", percent(l.With), percent(l.Without))
}

// lossSentence says what a limit costs in readiness.
func lossSentence(l plan.Limit) string {
	if lostPoints(l) < 0.05 {
		return fmt.Sprintf("Jobs ready: %s with it and without.", percent(l.With))
	}
	return fmt.Sprintf("Jobs ready: %s instead of %s, %.1f points fewer.", percent(l.With), percent(l.Without), lostPoints(l))
}

// cutSentence says what is not ordered because of a limit.
func cutSentence(l plan.Limit) string {
	var cut []string
	for _, c := range l.Cut {
		cut = append(cut, quantity(c.Qty, c.Item.Measure)+" "+itemName(c.Item))
	}
	if len(cut) == 0 {
		return ""
	}
	return "Not ordered: " + semicolons(cut, pageLacks) + "."
}

// semicolons joins the first texts, in which commas may stand, and counts the rest.
func semicolons(texts []string, most int) string {
	if len(texts) <= most {
		return strings.Join(texts, "; ")
	}
	return fmt.Sprintf("%s; and %d more", strings.Join(texts[:most], "; "), len(texts)-most)
}

// quantity is a quantity with its unit in a sentence.
func quantity(q inventory.Quantity, m inventory.Measure) string {
	return Measured(q, m).String() + " " + string(m)
}

// capital begins a sentence with a text.
func capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(first)) + text[size:]
}
