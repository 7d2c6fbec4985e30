package reports

import (
	"fmt"
	"slices"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// Disposal is what became of spent fluids: by stream and month, the record of
// what was handed over for the waste carrier, and what was gathered.
func Disposal(spent []audit.Spent, shop inventory.Shop) []Sheet {
	return []Sheet{SpentByMonth(spent, shop), HandedOver(shop), Gathered(shop)}
}

// DisposalTables is the same for a terminal, where volumes and weights find
// room in a table each: of every stream that in which it was written down.
func DisposalTables(spent []audit.Spent, shop inventory.Shop) []Sheet {
	whole := SpentByMonth(spent, shop)
	if len(spent) == 0 {
		return []Sheet{whole.only("Stream", "Month")}
	}
	recent := latestMonths(spent, spentMonthsTold)
	if len(recent) < len(spent) {
		whole.Notes = append(whole.Notes, fmt.Sprintf("The latest %d months of each stream. --json has all.", spentMonthsTold))
	}
	whole.Rows = SpentByMonth(recent, shop).Rows
	volumes, weights := whole, whole
	volumes.Rows, weights.Rows = nil, nil
	for i, m := range recent {
		ways := stated(spent, m.Stream)
		if ways.volumes {
			volumes.Rows = append(volumes.Rows, whole.Rows[i])
		}
		if ways.weights || !ways.volumes {
			weights.Rows = append(weights.Rows, whole.Rows[i])
		}
	}
	volumes = volumes.only("Stream", "Month", "Counted to", "Drawn ml", "Gathered ml", "Handed over ml", "Held ml", shareColumn)
	weights = weights.only("Stream", "Month", "Counted to", "Drawn g", "Gathered g", "Handed over g", "Held g", shareColumn)
	switch {
	case len(volumes.Rows) == 0:
		return []Sheet{weights, HandedOver(shop)}
	case len(weights.Rows) == 0:
		return []Sheet{volumes, HandedOver(shop)}
	}
	weights.Title, weights.Notes, weights.Facts, weights.Remarks = "By weight", nil, nil, nil
	return []Sheet{volumes, weights, HandedOver(shop)}
}

const shareColumn = "Share gathered"

// spentMonthsTold is how many months of each stream a terminal tells.
const spentMonthsTold = 6

// latestMonths keeps the last so many months of each stream, in their order.
func latestMonths(spent []audit.Spent, most int) []audit.Spent {
	var kept []audit.Spent
	told := map[inventory.Stream]int{}
	for _, m := range slices.Backward(spent) {
		if told[m.Stream]++; told[m.Stream] <= most {
			kept = append(kept, m)
		}
	}
	slices.Reverse(kept)
	return kept
}

// SpentByMonth is what was drawn of the fluids that end in a stream, and what
// of it was gathered, handed over and is held.
func SpentByMonth(spent []audit.Spent, shop inventory.Shop) Sheet {
	s := Sheet{
		Key: "spent", Name: "Used fluids", Title: disposalTitle("Used oil, grease and solvent", shop),
		Notes: []string{
			fluidCaution,
			"Drawn is what left the shelf by the counts, spread evenly over the days between them, and converted by the density at 15 °C. What stays in a unit, is spilt or wiped up is drawn and not gathered, so that the share stays below 100 % unless what rinsed is gathered with it.",
		},
		Facts:   sharesGathered(spent),
		Columns: spentColumns(),
		Empty:   "Nothing has been gathered yet. Write down what is in the can of used oil each time it is full, with circlip disposal gather or in the book's table disposals: from then on this sheet holds it against what was drawn.",
	}
	withoutML, withoutG := 0, 0
	for _, m := range spent {
		ways := stated(spent, m.Stream)
		s.Rows = append(s.Rows, Row{Cells: spentCells(m, ways), Strong: m.HeldML < 0 || m.HeldG < 0})
		if ways.volumes && ways.weights {
			withoutML, withoutG = withoutML+m.WithoutML, withoutG+m.WithoutG
		}
	}
	s.Remarks = spentRemarks(s.Rows, withoutML, withoutG)
	return s
}

// spentRemarks say what the sums do not hold of what is written down both ways.
func spentRemarks(rows []Row, withoutML, withoutG int) []string {
	var remarks []string
	if withoutML > 0 {
		remarks = append(remarks, plural(withoutML, "record has", "records have")+" no volume and "+oneMany(withoutML, "counts", "count")+" in the weights alone.")
	}
	if withoutG > 0 {
		remarks = append(remarks, plural(withoutG, "record has", "records have")+" no weight and "+oneMany(withoutG, "counts", "count")+" in the volumes alone.")
	}
	for _, r := range rows {
		if r.Strong {
			return append(remarks, "Held below zero: more was handed over than was gathered on record. Write down what is missing.")
		}
	}
	return remarks
}

func disposalTitle(what string, shop inventory.Shop) string {
	return titled(what, shop.Settings.Workshop, shop.AsOf)
}

func spentColumns() []Column {
	columns := []Column{{Name: "Stream"}, {Name: "Month"}, {Name: "Counted to", Kind: DateKind, Rank: 1}}
	for i, unit := range []string{"ml", "g"} {
		for _, name := range []string{"Drawn", "Gathered", "Handed over", "Held"} {
			columns = append(columns, Column{Name: name + " " + unit, Kind: NumberKind, Rank: 2 * i})
		}
	}
	return append(columns, Column{Name: shareColumn, Unit: "%", Kind: ShareKind})
}

// waysStated is in which ways anything was written down of a stream: noughts of
// the other way would say that nothing was gathered.
type waysStated struct{ volumes, weights bool }

func stated(spent []audit.Spent, stream inventory.Stream) (ways waysStated) {
	for _, m := range spent {
		if m.Stream == stream {
			ways.volumes = ways.volumes || m.GatheredML != 0 || m.HandedOverML != 0 || m.HeldML != 0
			ways.weights = ways.weights || m.GatheredG != 0 || m.HandedOverG != 0 || m.HeldG != 0
		}
	}
	return ways
}

func spentCells(m audit.Spent, ways waysStated) []Cell {
	cells := []Cell{Words(string(m.Stream)), Words(m.From.Time().Format("2006-01")), Day(m.CountedTo)}
	for _, x := range []float64{m.DrawnML, m.GatheredML, m.HandedOverML, m.HeldML, m.DrawnG, m.GatheredG, m.HandedOverG, m.HeldG} {
		cells = append(cells, Figure(x, 1))
	}
	const drawnML, drawnG = 3, 7
	if m.CountedTo.IsZero() || (m.DrawnML == 0 && m.DrawnG != 0) {
		cells[drawnML] = Cell{} // nobody knows: no count, or no density
	}
	if m.CountedTo.IsZero() || (m.DrawnG == 0 && m.DrawnML != 0) {
		cells[drawnG] = Cell{}
	}
	if !ways.volumes {
		clear(cells[drawnML+1 : drawnG])
	}
	if !ways.weights {
		clear(cells[drawnG+1:])
	}
	return append(cells, shareGathered(m))
}

// shareGathered is the part of what was drawn that was gathered: by volume
// where every record has one, else by weight; blank where neither is whole, or
// no counts cover the time.
func shareGathered(m audit.Spent) Cell {
	switch {
	case m.CountedTo < m.To:
		return Cell{}
	case m.WithoutML == 0 && m.DrawnML > 0:
		return Share(m.GatheredML / m.DrawnML)
	case m.WithoutG == 0 && m.DrawnG > 0:
		return Share(m.GatheredG / m.DrawnG)
	}
	return Cell{}
}

// sharesGathered is a fact a stream: over all its months that counts cover.
func sharesGathered(spent []audit.Spent) []Fact {
	var facts []Fact
	for _, stream := range inventory.Streams {
		var sum audit.Spent
		for _, m := range spent {
			if m.Stream != stream || m.CountedTo < m.To {
				continue
			}
			sum.DrawnML, sum.GatheredML, sum.WithoutML = sum.DrawnML+m.DrawnML, sum.GatheredML+m.GatheredML, sum.WithoutML+m.WithoutML
			sum.DrawnG, sum.GatheredG, sum.WithoutG = sum.DrawnG+m.DrawnG, sum.GatheredG+m.GatheredG, sum.WithoutG+m.WithoutG
		}
		if share := shareGathered(sum); !share.Blank() {
			facts = append(facts, Fact{capital(string(stream)) + " gathered of what was drawn", share, "%"})
		}
	}
	return facts
}

// HandedOver is the record for the carrier, with room for whoever signs it.
func HandedOver(shop inventory.Shop) Sheet {
	s := records(shop, true)
	s.Key, s.Name, s.Title = "handed over", "For the carrier", disposalTitle("Used fluids handed over to the carrier", shop)
	s.Notes = []string{fluidCaution}
	s.Empty = "Nothing has been handed over yet. Write each hand-over down with circlip disposal hand-over, or in the book's table disposals, with the carrier and the number of the paper."
	s.Fields = []Field{
		{Label: "Handed over by", Kind: TextKind}, {Label: "Taken over by", Kind: TextKind},
		{Label: "Day", Kind: TextKind}, {Label: "Signatures", Kind: TextKind},
	}
	return s
}

// BeyondHeld says that more is handed over than was gathered on record and is
// still held; nothing where that is not so.
func BeyondHeld(spent []audit.Spent, d inventory.Disposal) string {
	var held audit.Spent
	for _, m := range spent {
		if m.Stream == d.Stream {
			held = m // the latest month is the last
		}
	}
	for _, way := range []struct {
		qty  *float64
		held float64
		unit string
	}{{d.VolumeML, held.HeldML, "ml"}, {d.WeightG, held.HeldG, "g"}} {
		if way.qty != nil && *way.qty > way.held+0.05 {
			return fmt.Sprintf("%s %s of used %s is more than the %s %s that the record has: write down what else was gathered", Figure(*way.qty, 1), way.unit, d.Stream, Figure(max(0, way.held), 1), way.unit)
		}
	}
	return ""
}

// Gathered is every record of what was gathered in the workshop.
func Gathered(shop inventory.Shop) Sheet {
	s := records(shop, false)
	s.Key, s.Name, s.Title = "gathered", "Gathered", disposalTitle("Used fluids gathered", shop)
	s.Notes = []string{fluidCaution}
	s.Empty = "Nothing has been gathered yet. Write it down with circlip disposal gather, or in the book's table disposals."
	return s
}

// records are the disposals of one moment, the oldest first.
func records(shop inventory.Shop, handedOver bool) Sheet {
	s := Sheet{Columns: []Column{
		{Name: "Date", Kind: DateKind}, {Name: "Number", Kind: CountKind, Rank: 2}, {Name: "Stream"},
		{Name: "Volume", Unit: "ml", Kind: NumberKind}, {Name: "Weight", Unit: "g", Kind: NumberKind},
		{Name: "Carrier"}, {Name: "Document"}, {Name: "Note", Wrap: true, Rank: 1},
	}}
	for _, d := range shop.Disposals {
		if d.HandedOver == handedOver {
			s.Rows = append(s.Rows, Row{Cells: []Cell{
				Day(d.Date), Counted(d.Number), Words(string(d.Stream)), given(d.VolumeML), given(d.WeightG),
				Words(d.Carrier), Words(d.Document), Words(d.Note),
			}})
		}
	}
	return s
}

// given is an amount that somebody may have stated.
func given(x *float64) Cell {
	if x == nil {
		return Cell{}
	}
	return Figure(*x, 1)
}
