package oring

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"circlip/inventory"
)

// Proposal says that one O-ring might stand in for another, and why. It is for
// a person to review; a promise only ever uses the alternates of the book.
type Proposal struct {
	Item, Alternate Ring
	Material        string // ISO 1629 code of both
	Seats           []Seat // the grooves of Item; none: no groove is known
}

// Ring is an item of the shop with its size.
type Ring struct {
	Item     string
	Size     Standard
	Hardness float64 // 0: not known
}

// Seat is how the item, and how its alternate, would sit in the same groove.
type Seat struct {
	Groove          inventory.Groove
	Item, Alternate Seated
}

// Seated is the fit of a nominal ring, and the least and the most of each figure
// over its tolerances.
type Seated struct{ Nominal, Least, Most Fit }

// hardnessApart is how much two rings may differ, in Shore A or IRHD: the
// tolerance that hardness is commonly sold with; common practice, no source.
const hardnessApart = 5

// Propose lists the O-rings that might stand in for each other, by item and
// alternate, for review only. Both must be of the same material, and it must be
// known; their hardness must agree within 5 where both are known; and the
// nominal inside diameter and section of each must lie within the tolerances of
// the other. Where the item's groove is known, the alternate must sit in it
// with stretch, squeeze and fill as advised, and not leave their limits by its
// tolerances. What the book has as an alternate already is left out.
func Propose(items []inventory.Item, grooves []inventory.Groove, known []inventory.Alternate) []Proposal {
	recorded := map[[2]string]bool{}
	for _, a := range known {
		recorded[[2]string{a.Item, a.Alternate}] = true
	}
	seats := map[string][]inventory.Groove{}
	for _, g := range grooves {
		seats[g.Item] = append(seats[g.Item], g)
	}
	var proposals []Proposal
	for _, rings := range byMaterial(items) {
		for _, a := range rings.rings {
			for _, b := range rings.rings {
				if a.Item == b.Item || recorded[[2]string{a.Item, b.Item}] || !alike(a, b) {
					continue
				}
				if fits, ok := seated(seats[a.Item], a, b); ok {
					proposals = append(proposals, Proposal{a, b, rings.material, fits})
				}
			}
		}
	}
	slices.SortFunc(proposals, func(x, y Proposal) int {
		return cmp.Or(cmp.Compare(x.Item.Item, y.Item.Item), cmp.Compare(x.Alternate.Item, y.Alternate.Item))
	})
	return proposals
}

type batch struct {
	material string
	rings    []Ring
}

// byMaterial sorts the O-rings with a size and a material by the latter.
func byMaterial(items []inventory.Item) map[string]batch {
	batches := map[string]batch{}
	for _, i := range items {
		material := strings.ToUpper(i.Material)
		size, sized := Of(i)
		if !sized || material == "" {
			continue
		}
		b := batches[material]
		b.material = material
		b.rings = append(b.rings, Ring{i.Code, size, i.Hardness})
		batches[material] = b
	}
	return batches
}

// alike reports whether hardness and size agree, whichever of the two lacks.
func alike(a, b Ring) bool {
	hardness := a.Hardness == 0 || b.Hardness == 0 || near(a.Hardness, b.Hardness, hardnessApart)
	return hardness && a.Size.Holds(b.Size.InsideMM, b.Size.SectionMM) && b.Size.Holds(a.Size.InsideMM, a.Size.SectionMM)
}

// seated sets both rings into each groove of the item, and reports whether the
// alternate sits well in all of them.
func seated(grooves []inventory.Groove, item, alternate Ring) ([]Seat, bool) {
	var seats []Seat
	for _, g := range grooves {
		its, known := item.Size.seat(g)
		other, fits := alternate.Size.seat(g)
		if !known || !fits || !other.well(alternate.Size.SectionMM) {
			return nil, false
		}
		seats = append(seats, Seat{g, its, other})
	}
	return seats, true
}

func (s Size) seat(g inventory.Groove) (Seated, bool) {
	nominal, known := s.In(g)
	least, most, within := s.Within(g)
	return Seated{nominal, least, most}, known && within
}

// well reports whether a ring of the section sits as advised, and keeps to the
// limits whatever its tolerances.
func (s Seated) well(sectionMM float64) bool {
	advised := AdvisedStretch.Holds(s.Nominal.Stretch) && AdvisedSqueeze(sectionMM).Holds(s.Nominal.Squeeze) && AdvisedFill.Holds(s.Nominal.Fill)
	return advised && mustStretch.spans(s.Least.Stretch, s.Most.Stretch) &&
		mustSqueeze.spans(s.Least.Squeeze, s.Most.Squeeze) && mustFill.spans(s.Least.Fill, s.Most.Fill)
}

func (r Range) spans(least, most float64) bool { return r.Holds(least) && r.Holds(most) }

// Difference is by how many mm the alternate's inside diameter and section
// exceed the item's.
func (p Proposal) Difference() (insideMM, sectionMM float64) {
	return hundredths(p.Alternate.Size.InsideMM - p.Item.Size.InsideMM), hundredths(p.Alternate.Size.SectionMM - p.Item.Size.SectionMM)
}

func hundredths(mm float64) float64 { return math.Round(100*mm) / 100 }
