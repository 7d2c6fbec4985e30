package oring

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"circlip/inventory"
)

func oRing(code, material string, inside, section, hardness float64) inventory.Item {
	return inventory.Item{Code: code, Kind: inventory.ORing, Material: material, InsideMM: inside, SectionMM: section, Hardness: hardness}
}

func pairs(proposals []Proposal) string {
	var texts []string
	for _, p := range proposals {
		texts = append(texts, p.Item.Item+"←"+p.Alternate.Item)
	}
	return strings.Join(texts, " ")
}

func TestPropose(t *testing.T) {
	seal := oRing("b", "NBR", 12.42, 1.78, 70)
	seal.Kind = inventory.Seal
	groove := func(item string, root, bore, width float64) inventory.Groove {
		return inventory.Groove{Item: item, RootMM: root, BoreMM: bore, WidthMM: width}
	}
	tests := []struct {
		rule    string
		other   inventory.Item
		grooves []inventory.Groove
		known   []inventory.Alternate
		want    string
	}{
		{"the same size, material and hardness, either way", oRing("b", "NBR", 12.42, 1.78, 70), nil, nil, "a←b b←a"},
		{"a metric size within the tolerances of both", oRing("b", "NBR", 12.4, 1.8, 70), nil, nil, "a←b b←a"},
		{"not one beyond the tolerances of either", oRing("b", "NBR", 12.6, 1.78, 70), nil, nil, ""},
		{"not another section", oRing("b", "NBR", 12.42, 1.9, 70), nil, nil, ""},
		{"never another material", oRing("b", "FKM", 12.42, 1.78, 70), nil, nil, ""},
		{"never where the material is not known", oRing("b", "", 12.42, 1.78, 70), nil, nil, ""},
		{"a material in small letters is the same", oRing("b", "nbr", 12.42, 1.78, 70), nil, nil, "a←b b←a"},
		{"a hardness apart by 5", oRing("b", "NBR", 12.42, 1.78, 75), nil, nil, "a←b b←a"},
		{"not by more", oRing("b", "NBR", 12.42, 1.78, 76), nil, nil, ""},
		{"a hardness that is not known forbids nothing", oRing("b", "NBR", 12.42, 1.78, 0), nil, nil, "a←b b←a"},
		{"never a seal of other shape", seal, nil, nil, ""},
		{"never a ring without a size", oRing("b", "NBR", 0, 0, 70), nil, nil, ""},
		{"what the book has already is left out, that way only", oRing("b", "NBR", 12.42, 1.78, 70), nil,
			[]inventory.Alternate{{Item: "a", Alternate: "b"}}, "b←a"},
		{"in the item's groove it must sit as advised", oRing("b", "NBR", 12.4, 1.8, 70),
			[]inventory.Groove{groove("a", 12.65, 15.55, 2.4)}, nil, "a←b b←a"},
		{"not where it would be stretched too little", oRing("b", "NBR", 12.5, 1.78, 70),
			[]inventory.Groove{groove("a", 12.55, 15.45, 2.4)}, nil, "b←a"},
		{"not where it would be stretched too far", oRing("b", "NBR", 12.37, 1.78, 70),
			[]inventory.Groove{groove("a", 13, 15.9, 2.4)}, nil, "b←a"},
		{"not where it would fill too little of the groove", oRing("b", "NBR", 12.42, 1.78, 70),
			[]inventory.Groove{groove("a", 12.65, 15.55, 3.2)}, nil, "b←a"},
		{"nor where its tolerances could fill it beyond nine tenths", oRing("b", "NBR", 12.42, 1.78, 70),
			[]inventory.Groove{groove("a", 12.65, 15.55, 2.04)}, nil, "b←a"},
		{"not where it would fill the groove too far", oRing("b", "NBR", 12.42, 1.84, 70),
			[]inventory.Groove{groove("a", 12.65, 15.55, 2.05)}, nil, "b←a"},
		{"not where it would be squeezed too little", oRing("b", "NBR", 12.42, 1.72, 70),
			[]inventory.Groove{groove("a", 12.65, 15.61, 2.1)}, nil, "b←a"},
		{"nor where its wider tolerances could leave it loose", oRing("b", "NBR", 12.40, 1.78, 70),
			[]inventory.Groove{groove("a", 12.60, 15.5, 2.4)}, nil, "b←a"},
		{"in every groove of the item", oRing("b", "NBR", 12.4, 1.8, 70),
			[]inventory.Groove{groove("a", 12.65, 15.55, 2.4), groove("a", 12.2, 15.1, 2.4)}, nil, "b←a"},
		{"a groove that cannot be fits nothing", oRing("b", "NBR", 12.42, 1.78, 70),
			[]inventory.Groove{groove("a", 15, 12, 2.4)}, nil, "b←a"},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			items := []inventory.Item{test.other, oRing("a", "NBR", 12.42, 1.78, 70)}
			if got := pairs(Propose(items, test.grooves, test.known)); got != test.want {
				t.Errorf("found %q, expected %q", got, test.want)
			}
		})
	}
}

// A cord of half a millimetre is squeezed by 15.5 % as it should be, but may be so
// thin by its tolerance that it does not touch the bore.
func TestAThinRingMayFallShortOfTheBore(t *testing.T) {
	items := []inventory.Item{oRing("a", "NBR", 12.42, .5, 70), oRing("b", "NBR", 12.42, .5, 70)}
	if got := pairs(Propose(items, []inventory.Groove{{Item: "a", RootMM: 12.68, BoreMM: 13.51, WidthMM: .75}}, nil)); got != "b←a" {
		t.Errorf("found %q, expected a for b alone", got)
	}
}

// A proposal carries the figures of both rings in the same groove.
func TestAProposalSaysWhy(t *testing.T) {
	items := []inventory.Item{oRing("a", "NBR", 12.42, 1.78, 70), oRing("b", "nbr", 12.4, 1.8, 0)}
	grooves := []inventory.Groove{{Item: "a", RootMM: 12.65, BoreMM: 15.55, WidthMM: 2.4}}
	p := Propose(items, grooves, nil)[0]
	inside, section := p.Difference()
	text := fmt.Sprintf("%s %s %s; %+.2f %+.2f; %g %g", p.Material, p.Item.Size, p.Alternate.Size, inside, section, p.Item.Hardness, p.Alternate.Hardness)
	if want := "NBR 12.42 × 1.78 mm (AS568-014) 12.40 × 1.80 mm; -0.02 +0.02; 70 0"; text != want {
		t.Errorf("found %s, expected %s", text, want)
	}
	percent := func(s Seated) string {
		return fmt.Sprintf("%.1f (%.1f–%.1f), %.1f (%.1f–%.1f), %.1f (%.1f–%.1f)", 100*s.Nominal.Stretch, 100*s.Least.Stretch, 100*s.Most.Stretch,
			100*s.Nominal.Squeeze, 100*s.Least.Squeeze, 100*s.Most.Squeeze, 100*s.Nominal.Fill, 100*s.Least.Fill, 100*s.Most.Fill)
	}
	if len(p.Seats) != 1 {
		t.Fatalf("%d grooves", len(p.Seats))
	}
	// By hand: 12.65/12.42 − 1 = 1.852 %, thinner by 0.0001 + 1.06·0.01852 − 10·0.01852² = 1.630 %, 1.7510 mm over 1.45 mm
	// deep: squeezed 17.19 %; π/4·1.78² over 1.45·2.4: 71.5 %.
	if got := percent(p.Seats[0].Item); !strings.HasPrefix(got, "1.9 (") || !strings.Contains(got, ", 17.2 (") || !strings.Contains(got, ", 71.5 (") {
		t.Errorf("the item sits with %s", got)
	}
	// 12.65/12.4 − 1 = 2.016 %, thinner by 1.741 %, 1.7687 mm: squeezed 18.02 %; filled 73.1 %.
	if got := percent(p.Seats[0].Alternate); !strings.HasPrefix(got, "2.0 (") || !strings.Contains(got, ", 18.0 (") || !strings.Contains(got, ", 73.1 (") {
		t.Errorf("the alternate sits with %s", got)
	}
}

// Whatever the shelf: never across materials, never without one, never another
// kind, never further apart in hardness; without grooves each proposal goes
// both ways; a groove only takes away; what is recorded is not proposed; and
// the order of the book does not matter.
func TestProposalsOnAnyShelf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items := anyRings(t)
		byCode := map[string]inventory.Item{}
		for _, i := range items {
			byCode[i.Code] = i
		}
		free := Propose(items, nil, nil)
		for _, p := range free {
			a, b := byCode[p.Item.Item], byCode[p.Alternate.Item]
			if a.Code == b.Code || !strings.EqualFold(a.Material, b.Material) || a.Material == "" || a.Kind != inventory.ORing || b.Kind != inventory.ORing {
				t.Fatalf("%+v for %+v", b, a)
			}
			if apart := a.Hardness - b.Hardness; a.Hardness > 0 && b.Hardness > 0 && (apart > 5 || apart < -5) {
				t.Fatalf("hardness %g for %g", b.Hardness, a.Hardness)
			}
			if !slices.ContainsFunc(free, func(q Proposal) bool { return q.Item == p.Alternate && q.Alternate == p.Item }) {
				t.Fatalf("%s may stand in for %s, and not the other way", b.Code, a.Code)
			}
		}
		var grooves []inventory.Groove
		var known []inventory.Alternate
		for _, i := range items {
			if i.InsideMM > 0 && rapid.Bool().Draw(t, "groove") {
				root := i.InsideMM * rapid.Float64Range(.99, 1.06).Draw(t, "root")
				grooves = append(grooves, inventory.Groove{Item: i.Code, RootMM: root, BoreMM: root + 2*.82*i.SectionMM, WidthMM: 1.35 * i.SectionMM})
			}
		}
		if len(free) > 0 {
			known = append(known, inventory.Alternate{Item: free[0].Item.Item, Alternate: free[0].Alternate.Item})
		}
		fewer := Propose(items, grooves, known)
		if !subset(fewer, free) || (len(free) > 0 && strings.Contains(" "+pairs(fewer)+" ", " "+pairs(free[:1])+" ")) {
			t.Fatalf("%s of %s", pairs(fewer), pairs(free))
		}
		slices.Reverse(items)
		if again := pairs(Propose(items, grooves, known)); again != pairs(fewer) {
			t.Fatalf("the book from its end gives %s, not %s", again, pairs(fewer))
		}
	})
}

func subset(fewer, all []Proposal) bool {
	for _, p := range fewer {
		if !slices.ContainsFunc(all, func(q Proposal) bool { return q.Item == p.Item && q.Alternate == p.Alternate }) {
			return false
		}
	}
	return true
}

// anyRings is a shelf with many rings of nearly the same few sizes.
func anyRings(t *rapid.T) []inventory.Item {
	items := make([]inventory.Item, rapid.IntRange(0, 14).Draw(t, "items"))
	for i := range items {
		s := rapid.SampledFrom(as568[12:15]).Draw(t, "size")
		off := rapid.SampledFrom([]float64{0, 0, -.02, .05, .2}).Draw(t, "off")
		items[i] = inventory.Item{
			Code: fmt.Sprint("ring ", i), Kind: rapid.SampledFrom([]inventory.Kind{inventory.ORing, inventory.ORing, inventory.Seal}).Draw(t, "kind"),
			Material: rapid.SampledFrom([]string{"NBR", "nbr", "FKM", ""}).Draw(t, "material"),
			InsideMM: s.InsideMM + off, SectionMM: s.SectionMM + off/10,
			Hardness: rapid.SampledFrom([]float64{0, 70, 75, 90}).Draw(t, "hardness"),
		}
	}
	return items
}

func BenchmarkPropose(b *testing.B) {
	var items []inventory.Item
	for i := range 1000 {
		s := as568[i%len(as568)]
		items = append(items, oRing(fmt.Sprint(i), []string{"NBR", "FKM", "EPDM"}[i%3], s.InsideMM, s.SectionMM, 70))
	}
	for b.Loop() {
		Propose(items, nil, nil)
	}
}
