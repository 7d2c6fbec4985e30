package reports

import (
	"fmt"
	"strings"

	"circlip/inventory"
)

// Try is what a job that is not booked yet would find on its day, line by line,
// with the first day that can be promised.
func Try(shop inventory.Shop, t inventory.Tried) Sheet {
	title := fmt.Sprintf("%s on %s for %s", strings.Join(t.Kit.Services, " and "), t.Kit.Model, longDay(t.Kit.BenchDate))
	s := kitLineSheet(title)
	s.Key, s.Name = "try", "Try"
	s.Notes = append(tryNotes(shop, t), "Booked jobs keep what they were promised, also those of later days: this job would get what they leave.")
	s.Columns = s.Columns[2:] // one job, one day
	s.Empty = "Such a job takes nothing: the bill of materials has no line for it."
	for _, r := range lineRows(t.Kit, itemsIn(shop)) {
		s.Rows = append(s.Rows, Row{Cells: r.Cells[2:], Strong: r.Strong})
	}
	return s
}

// itemsIn looks up an item of a shop; one that the book has lost is pieces.
func itemsIn(shop inventory.Shop) func(code string) inventory.Item {
	items := make(map[string]inventory.Item, len(shop.Items))
	for _, i := range shop.Items {
		items[i.Code] = i
	}
	return lookedUp(items)
}

// tryNotes answers the two questions: can it be promised for that day, and if
// not, for which.
func tryNotes(shop inventory.Shop, t inventory.Tried) []string {
	on := shortDay(t.Kit.BenchDate)
	notes := []string{map[inventory.KitState]string{
		inventory.Ready:  "Ready: every critical part is there for " + on + ".",
		inventory.Coming: "Coming: what lacks is on order and due by " + on + ".",
		inventory.Short:  "Short: it cannot be promised for " + on + " from the shelf and what is on order.",
	}[t.Kit.State]}
	switch {
	case t.First == t.Kit.BenchDate:
	case t.First.IsZero():
		notes = append(notes, fmt.Sprintf("Nor for any working day of the %d weeks from then on.", shop.Settings.HorizonWeeks))
	default:
		notes = append(notes, "The first working day that can be promised is "+longDay(t.First)+".")
	}
	if !t.Sooner.IsZero() {
		notes = append(notes, fmt.Sprintf("It could be %s, if this goes with the next order: %s.", longDay(t.Sooner), strings.Join(wants(shop, t.Order), "; ")))
	}
	return notes
}

// wants says what is to be ordered where.
func wants(shop inventory.Shop, order []inventory.Wanted) []string {
	items := itemsIn(shop)
	var texts []string
	for _, w := range order {
		i := items(w.Item)
		text := fmt.Sprintf("%s %s of %s", i.Measure.Format(w.Qty), i.Measure, itemName(i))
		if w.Besides > 0 {
			text += fmt.Sprintf(" besides the %s that booked jobs lack", i.Measure.Format(w.Besides))
		}
		if w.Offered != w.Item {
			text += " in " + itemName(items(w.Offered))
		}
		texts = append(texts, text+fmt.Sprintf(" from %s, there on %s", w.Supplier, shortDay(w.ComesOn)))
	}
	return texts
}

// wantedJSON is what would have to be ordered; quantities in the item's unit.
type wantedJSON struct {
	Item       string  `json:"item"`
	Qty        float64 `json:"qty"`
	BookedLack float64 `json:"booked_lack"`
	Supplier   string  `json:"supplier"`
	Offered    string  `json:"offered"`
	ComesOn    string  `json:"comes_on"`
}

// TryJSON is the document of `kits --try … --json`: the kit, with an empty job,
// the first day that can be promised from the shelf and what is on order, and
// an earlier one with what must be ordered today for it; null: there is none.
func TryJSON(shop inventory.Shop, t inventory.Tried) ([]byte, error) {
	document := struct {
		documentHead
		Kit    jobJSON      `json:"kit"`
		First  *string      `json:"first"`
		Sooner *string      `json:"sooner_if_ordered"`
		Order  []wantedJSON `json:"order"`
	}{
		documentHead: documentHead{shop.AsOf.String(), shop.Settings.Workshop, schema},
		First:        dayOrNull(t.First), Sooner: dayOrNull(t.Sooner), Order: []wantedJSON{},
	}
	items := itemsIn(shop)
	document.Kit = jobDocument(t.Kit, func(code string) inventory.Measure { return items(code).Measure })
	for _, w := range t.Order {
		m := items(w.Item).Measure
		document.Order = append(document.Order, wantedJSON{w.Item, m.Number(w.Qty), m.Number(w.Besides), w.Supplier, w.Offered, w.ComesOn.String()})
	}
	return encode("try", document)
}
