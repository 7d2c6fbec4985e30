package reports

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"circlip/inventory"
)

// Card is what a mechanic has beside the job: what is to be done to which unit,
// what to be careful of, what to take, how the unit was set, and forms to be
// filled by hand.
type Card struct {
	Job, Title string
	Facts      []Fact
	Cautions   []string
	Tables     []Sheet // what is known: parts, fluids, settings
	Forms      []Sheet // what is still blank
}

// Sheets are the card for a terminal, which shows no forms.
func (c Card) Sheets() []Sheet {
	head := Sheet{Key: "card", Name: c.Job, Title: c.Title, Facts: c.Facts, Remarks: c.Cautions}
	return append([]Sheet{head}, c.Tables...)
}

// card is the card of a job with its lots.
func (b benchBook) card(j inventory.JobPicks) Card {
	parts, fluids := b.taken(j)
	return Card{
		Job:      j.Job,
		Title:    fmt.Sprintf("Job %s · %s", j.Job, b.shop.Settings.Workshop),
		Facts:    b.cardFacts(j),
		Cautions: b.cautions(j),
		Tables: []Sheet{
			takenTable("Parts", "No parts: the bill of materials has none for these services on this model.", parts),
			takenTable("Oil, grease, solvent", "No fluids: the bill of materials has none for these services on this model.", fluids),
			settingsTable(b.setup(j)),
		},
		Forms: []Sheet{makersForm(), foundForm(), doneForm()},
	}
}

// cardFacts are what is to be done to which unit, and when.
func (b benchBook) cardFacts(j inventory.JobPicks) []Fact {
	day := longDay(j.BenchDate)
	if j.BenchDate < b.shop.AsOf {
		day += ", overdue"
	}
	facts := []Fact{{"Unit", Words(cmp.Or(j.Unit, "not in the book")), ""}, {"Model", Words(b.modelName(j.Model)), ""}}
	for _, code := range j.Services { // also those that another covers: that is what was agreed
		facts = append(facts, Fact{"Service", Words(b.serviceTitle(code)), ""})
	}
	return append(facts,
		Fact{"Bench day", Words(day), ""},
		Fact{"Bench time", Counted(b.minutes(j.Services)), "minutes"},
		Fact{"Kit", Words(string(j.State)), ""},
		Fact{"Meter, last read", Words(b.lastReading(j.Unit)), ""},
	)
}

func (b benchBook) modelName(code string) string {
	for _, m := range b.shop.Models {
		if m.Code == code && m.Name != "" {
			return fmt.Sprintf("%s (%s)", m.Name, code)
		}
	}
	return code
}

func (b benchBook) serviceTitle(code string) string {
	if s := b.services[code]; s.Name != "" {
		return fmt.Sprintf("%s (%s)", s.Name, code)
	}
	return code
}

// lastReading is what a unit's meter showed when it was last read.
func (b benchBook) lastReading(unit string) string {
	for _, u := range b.shop.Units {
		if u.Code == unit && unit != "" && len(u.Readings) > 0 {
			r := u.Readings[len(u.Readings)-1]
			return fmt.Sprintf("%s h on %s", Figure(r.Hours, 1), r.Date.Time().Format("2 January 2006"))
		}
	}
	return "not read yet"
}

// taken are the lines of the job's parts and of its fluids, by item, and within
// an item as the pick list has them.
func (b benchBook) taken(j inventory.JobPicks) (parts, fluids []placedPick) {
	for _, p := range b.placed([]inventory.JobPicks{j}) {
		if p.item.Measure == inventory.Each {
			parts = append(parts, p)
		} else {
			fluids = append(fluids, p)
		}
	}
	return parts, fluids
}

// takenTable lists what a job takes from where, with room for what it really
// took.
func takenTable(title, empty string, lines []placedPick) Sheet {
	s := Sheet{
		Key: "taken", Name: title, Title: title,
		Columns: []Column{
			{Name: "Bin"}, {Name: "Item", Wrap: true}, {Name: "Lot"}, {Name: "Qty", Kind: QuantityKind}, {Name: "Unit"},
			{Name: "Remark", Wrap: true}, {Name: "Used", Edit: true},
		},
		Empty: empty,
	}
	for _, p := range lines {
		s.Rows = append(s.Rows, Row{Strong: p.lacks, Cells: []Cell{
			Words(cmp.Or(p.bin, "no bin")), Words(codeAndName(p.item)), Words(p.lot), Measured(p.qty, p.item.Measure),
			Words(string(p.item.Measure)), Words(p.remark), {},
		}})
	}
	return s
}

// setup is how the unit was set: as it came to this job, else as it was last
// recorded, of whatever job. What was not recorded at one time is not filled in
// from another.
func (b benchBook) setup(j inventory.JobPicks) (inventory.Setup, bool) {
	var found []inventory.Setup
	for _, s := range b.shop.Setups {
		switch {
		case s.Job == j.Job && !s.After:
			return s, true
		case s.Unit == j.Unit && j.Unit != "":
			found = append(found, s)
		}
	}
	if len(found) == 0 {
		return inventory.Setup{}, false
	}
	return slices.MaxFunc(found, func(x, y inventory.Setup) int {
		return cmp.Or(cmp.Compare(x.On, y.On), cmp.Compare(truth(x.After), truth(y.After)), strings.Compare(x.Job, y.Job))
	}), true
}

// settingsTable is how the rider had it, and room for how it leaves.
func settingsTable(s inventory.Setup, known bool) Sheet {
	sheet := Sheet{
		Key: "settings", Name: "Settings", Title: "The rider's settings",
		Notes:   []string{settingsNote(s, known)},
		Columns: []Column{{Name: "Setting"}, {Name: "Unit"}, {Name: "Before"}, {Name: "Found", Edit: true}, {Name: "After", Edit: true}},
	}
	for _, r := range []struct {
		name, unit string
		before     Cell
	}{
		{"Air pressure", "bar", figureOf(s.AirBar)},
		{"Rebound", "clicks from closed", countOf(s.ReboundClicks)},
		{"Compression", "position or clicks", Words(s.Compression)},
		{"Volume spacers", "pieces", countOf(s.VolumeSpacers)},
		{"Note", "", Words(s.Note)},
	} {
		sheet.Rows = append(sheet.Rows, Row{Cells: []Cell{Words(r.name), Words(r.unit), r.before, {}, {}}})
	}
	return sheet
}

// settingsNote says when and where the settings before were written down.
func settingsNote(s inventory.Setup, known bool) string {
	if !known {
		return "None are recorded: write down how it came before anything is turned or opened."
	}
	when := "as it came to job " + s.Job
	if s.After {
		when = "as it left job " + s.Job
	}
	return fmt.Sprintf("Before: %s, %s. Where it was found otherwise, write that beside it before anything is turned or opened.", when, longDay(s.On))
}

func figureOf(x *float64) Cell {
	if x == nil {
		return Cell{}
	}
	return Words(trimmed(*x))
}

// trimmed is a pressure as a gauge shows it, without zeros behind.
func trimmed(x float64) string {
	text := Figure(x, 2).String()
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
}

func countOf(n *int) Cell {
	if n == nil {
		return Cell{}
	}
	return Words(Counted(*n).String())
}
