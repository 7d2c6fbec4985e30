package reports

import (
	"cmp"
	"fmt"
	"slices"

	"circlip/inventory"
	"circlip/inventory/oring"
)

// Alternates lists what the book lets stand in for what, by rank; of one item
// or, where none is named, of all.
func Alternates(shop inventory.Shop, item string) Sheet {
	s := Sheet{
		Key: "alternates", Name: "Alternates", Title: fmt.Sprintf("What may stand in for what · %s", shop.Settings.Workshop),
		Columns: []Column{{Name: "Item"}, {Name: "Rank", Kind: CountKind}, {Name: "Alternate"}, {Name: "What to mind", Wrap: true}},
		Empty:   "The book has no alternate here. Enter those that you trust in its table alternates.",
	}
	known := slices.Clone(shop.Alternates)
	slices.SortStableFunc(known, func(a, b inventory.Alternate) int {
		return cmp.Or(cmp.Compare(a.Item, b.Item), cmp.Compare(a.Rank, b.Rank))
	})
	for _, a := range known {
		if item == "" || item == a.Item {
			s.Rows = append(s.Rows, Row{Cells: []Cell{Words(a.Item), Counted(a.Rank), Words(a.Alternate), Words(a.Note)}})
		}
	}
	return s
}

// SameSize proposes O-rings of the same material and size, for review only:
// with how both would sit where the groove is known.
func SameSize(proposals []oring.Proposal, item string) Sheet {
	s := Sheet{
		Key: "same size", Name: "Same size", Title: "O-rings of the same material and size, for review",
		Notes: []string{"Proposed by size alone: nothing is promised by them. Whoever knows the job decides, with the maker's figures; what is trusted goes into the book's table alternates."},
		Columns: []Column{
			{Name: "Item"}, {Name: "Proposed"}, {Name: "Material"}, {Name: "AS568"},
			{Name: "Inside more", Unit: "mm", Kind: NumberKind}, {Name: "Section more", Unit: "mm", Kind: NumberKind},
			{Name: "Stretch", Unit: "%", Kind: ShareKind, Rank: 1}, {Name: "Squeeze", Unit: "%", Kind: ShareKind, Rank: 1}, {Name: "Fill", Unit: "%", Kind: ShareKind, Rank: 1},
		},
		Empty: "No two O-rings of the book agree in material, hardness and size.",
	}
	for _, p := range proposals {
		if item != "" && item != p.Item.Item {
			continue
		}
		inside, section := p.Difference()
		row := []Cell{
			Words(p.Item.Item), Words(p.Alternate.Item), Words(p.Material), Words(p.Alternate.Size.Dash),
			Figure(inside, 2), Figure(section, 2), {}, {}, {},
		}
		for _, seat := range p.Seats {
			f := seat.Alternate.Nominal
			row[6], row[7], row[8] = Share(f.Stretch), Share(f.Squeeze), Share(f.Fill)
		}
		s.Rows = append(s.Rows, Row{Cells: row})
	}
	return s
}

// alternateJSON is one alternate of the book.
type alternateJSON struct {
	Item      string `json:"item"`
	Alternate string `json:"alternate"`
	Rank      int    `json:"rank"`
	Note      string `json:"note"`
}

// sameSizeJSON is one O-ring proposed for another, for review.
type sameSizeJSON struct {
	Item      string        `json:"item"`
	Proposed  string        `json:"proposed"`
	Material  string        `json:"material"`
	InsideMM  float64       `json:"inside_mm_more"`
	SectionMM float64       `json:"section_mm_more"`
	Grooves   []seatingJSON `json:"grooves"`
}

// seatingJSON is how the item and the proposed ring sit in a groove, shares
// from 0 to 1.
type seatingJSON struct {
	Item     fitJSON `json:"item"`
	Proposed fitJSON `json:"proposed"`
}

type fitJSON struct {
	Stretch float64 `json:"stretch"`
	Squeeze float64 `json:"squeeze"`
	Fill    float64 `json:"fill"`
}

func fitDocument(f oring.Fit) fitJSON {
	return fitJSON{number(f.Stretch), number(f.Squeeze), number(f.Fill)}
}

// AlternatesJSON is the document of `alternates --json`.
func AlternatesJSON(shop inventory.Shop, proposals []oring.Proposal, item string) ([]byte, error) {
	document := struct {
		documentHead
		Alternates []alternateJSON `json:"alternates"`
		SameSize   []sameSizeJSON  `json:"same_size_for_review"`
	}{documentHead: documentHead{shop.AsOf.String(), shop.Settings.Workshop, schema}, Alternates: []alternateJSON{}, SameSize: []sameSizeJSON{}}
	for _, a := range shop.Alternates {
		if item == "" || item == a.Item {
			document.Alternates = append(document.Alternates, alternateJSON{a.Item, a.Alternate, a.Rank, a.Note})
		}
	}
	for _, p := range proposals {
		if item != "" && item != p.Item.Item {
			continue
		}
		inside, section := p.Difference()
		same := sameSizeJSON{p.Item.Item, p.Alternate.Item, p.Material, inside, section, []seatingJSON{}}
		for _, seat := range p.Seats {
			same.Grooves = append(same.Grooves, seatingJSON{fitDocument(seat.Item.Nominal), fitDocument(seat.Alternate.Nominal)})
		}
		document.SameSize = append(document.SameSize, same)
	}
	return encode("alternates", document)
}
