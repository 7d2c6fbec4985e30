package reports

import "circlip/inventory"

// Blank lines of the forms.
const (
	torqueLines = 3
	foundLines  = 4
)

// makersForm is for what only the maker's manual says: this program has no such
// figures and invents none.
func makersForm() Sheet {
	s := form("From the maker's manual", "Fastener or setting", "Unit", "Manual, page", "Maker's figure", "Set or measured")
	s.Columns[0].Edit, s.Columns[1].Edit = false, false
	rows := []struct{ name, unit string }{
		{"Oil, damper", "ml or mm"}, {"Oil, lower legs or air can", "ml"}, {"Air pressure for the rider's weight", "bar"}, {"Rebound", "clicks from closed"},
	}
	for range torqueLines {
		s.Rows = append(s.Rows, Row{Cells: []Cell{Words("Torque of"), Words("N·m"), {}, {}, {}}})
	}
	for _, r := range rows {
		s.Rows = append(s.Rows, Row{Cells: []Cell{Words(r.name), Words(r.unit), {}, {}, {}}})
	}
	return s
}

// foundForm is for what the bill of materials could not know.
func foundForm() Sheet {
	s := form("Found damaged, replaced, wasted or put back", "What, and what was wrong", "Item and lot", "Qty and unit", "Replaced, wasted or put back")
	for range foundLines {
		s.Rows = append(s.Rows, Row{Cells: make([]Cell, len(s.Columns))})
	}
	return s
}

// doneForm closes the card.
func doneForm() Sheet {
	s := form("Done", "Meter, hours", "Done on", "By", "Checked by")
	s.Rows = []Row{{Cells: make([]Cell, len(s.Columns))}}
	return s
}

// form is a table whose blank cells are for a pen.
func form(title string, columns ...string) Sheet {
	s := Sheet{Key: "form", Name: title, Title: title}
	for _, name := range columns {
		s.Columns = append(s.Columns, Column{Name: name, Edit: true})
	}
	return s
}

// Cautions of a card. Common practice, no source.
const (
	pressureCaution = "Release all air slowly, and check that it is gone, before anything is opened. Never open a charged damper without the proper tool and training."
	eyeCaution      = "Wear eye protection."
	solventCaution  = "Keep solvent away from flame, sparks and heat, and use it with air moving through the room."
	oilCaution      = "Used oil and soaked rags go where local rules say: keep them apart until then."
	manualCaution   = "The maker's manual and local codes go before this card: it plans parts and gives no permission to do the work."
)

// cautions are those that go with what the job may take. Pressure stands on
// every card: that a bill of materials holds no seal does not say that nothing
// is charged.
func (b benchBook) cautions(j inventory.JobPicks) []string {
	cautions := []string{pressureCaution, eyeCaution}
	kinds := map[inventory.Kind]bool{}
	for _, l := range j.Lines {
		kinds[b.item(l.Item).Kind] = true
		kinds[b.item(l.Alternate).Kind] = true
	}
	if kinds[inventory.Solvent] {
		cautions = append(cautions, solventCaution)
	}
	if kinds[inventory.Oil] || kinds[inventory.Grease] || kinds[inventory.Solvent] {
		cautions = append(cautions, oilCaution)
	}
	return append(cautions, manualCaution)
}
