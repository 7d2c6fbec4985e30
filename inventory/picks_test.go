package inventory

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// picksText is what goes into the trays, a job a line.
func picksText(picked []JobPicks) string {
	var lines []string
	for _, job := range picked {
		parts := []string{job.Job}
		for _, o := range job.Opens {
			parts = append(parts, fmt.Sprintf("open %d %s/%s", o.Qty, o.Item, o.Lot))
		}
		for _, picks := range job.Picks {
			for _, p := range picks {
				text := fmt.Sprintf("%d %s/%s", p.Qty, p.Item, p.Lot)
				if p.SetAside {
					text += " aside"
				}
				if p.OutOf != "" {
					text += " out of " + p.OutOf
				}
				parts = append(parts, text)
			}
		}
		lines = append(lines, strings.Join(parts, "; "))
	}
	return strings.Join(lines, "\n")
}

func TestPicks(t *testing.T) {
	job := func(code string, in Date) Job {
		return Job{Code: code, Model: "fell", Services: []string{"lower"}, BenchDate: today + in, State: Booked}
	}
	lot := func(item, code string, qty Quantity, expires Date) Lot {
		return Lot{Item: item, Code: code, Expires: expires, OnHand: qty}
	}
	tests := []struct {
		rule   string
		change func(*Shop)
		want   string
	}{
		{"the lot that expires first goes first, and the rest comes from the next", func(s *Shop) {
			s.Lots = []Lot{lot("wiper", "late", 5, today+90), lot("wiper", "soon", 1, today+30), lot("wiper", "never", 5, 0)}
		}, "J1; 1 wiper/soon; 1 wiper/late"},
		{"a lot that has expired by the bench day is left where it is", func(s *Shop) {
			s.Lots = []Lot{lot("wiper", "old", 5, today+1), lot("wiper", "good", 5, today+2)}
		}, "J1; 2 wiper/good"},
		{"what an earlier job takes is not there for the next", func(s *Shop) {
			s.Jobs = append(s.Jobs, job("J2", 0))
			s.Lots = []Lot{lot("wiper", "a", 3, today+30), lot("wiper", "b", 3, today+60)}
		}, "J2; 2 wiper/a\nJ1; 1 wiper/a; 1 wiper/b"},
		{"what is set aside comes out of the lots it is set aside of", func(s *Shop) {
			kept := lot("wiper", "kept", 4, today+90)
			kept.SetAside = []SetAside{{"J1", 1}}
			s.Lots = []Lot{kept, lot("wiper", "soon", 4, today+30)}
		}, "J1; 1 wiper/kept aside; 1 wiper/soon"},
		{"what is set aside for another is not touched", func(s *Shop) {
			kept := lot("wiper", "soon", 2, today+30)
			kept.SetAside = []SetAside{{"J9", 1}}
			s.Lots = []Lot{kept, lot("wiper", "late", 4, today+90)}
		}, "J1; 1 wiper/soon; 1 wiper/late"},
		{"what is set aside and expires before the job is not put into its tray", func(s *Shop) {
			kept := lot("wiper", "kept", 2, today+1)
			kept.SetAside = []SetAside{{"J1", 2}}
			s.Lots = []Lot{kept, lot("wiper", "good", 2, 0)}
		}, "J1; 2 wiper/good"},
		{"an alternate is picked in the item's place, for all of it", func(s *Shop) {
			s.Lots = []Lot{lot("wiper", "one", 1, 0), lot("seal", "a", 5, 0)}
			s.Alternates = []Alternate{{Item: "wiper", Alternate: "seal", Rank: 1}}
		}, "J1; 2 seal/a"},
		{"a kit is opened for what lacks, and what is left of it serves the next job", func(s *Shop) {
			s.Jobs = append(s.Jobs, job("J2", 3))
			s.Lots = []Lot{lot("set", "k", 1, today+40)}
			s.Kits = []KitPart{{"set", "wiper", 4}, {"set", "ring", 1}}
		}, "J1; open 1 set/k; 2 wiper/k out of set\nJ2; 2 wiper/k out of set"},
		{"what is on order or short has no lot", func(s *Shop) {
			s.Lots = []Lot{lot("wiper", "one", 1, 0)}
			s.Orders = []OrderLine{{Item: "wiper", Packs: 1, PackQty: 1, DueOn: today + 1}}
		}, "J1; 1 wiper/one"},
		{"a line that is sometimes needed says where it lies and takes nothing from later jobs", func(s *Shop) {
			s.BOM[0].Need = 0.1 // both jobs need it one time in a hundred
			s.Jobs = append(s.Jobs, job("J2", 3))
			s.Lots = []Lot{lot("wiper", "a", 2, 0)}
		}, "J1; 2 wiper/a\nJ2; 2 wiper/a"},
		{"one that hardly any job needs counts as covered by nothing, and is found nowhere", func(s *Shop) {
			s.BOM[0].Need = 0.01
		}, "J1"},
		{"one for which a kit would be opened names it and leaves it whole", func(s *Shop) {
			s.BOM[0].Need = 0.5
			s.Lots = []Lot{lot("set", "k", 3, 0)}
			s.Kits = []KitPart{{"set", "wiper", 1}}
		}, "J1; 2 wiper/k out of set"},
		{"and no more of it than the line needs", func(s *Shop) {
			s.BOM[0].Need = 0.5
			s.Lots = []Lot{lot("set", "k1", 1, today+9), lot("set", "k2", 1, today+99)}
			s.Kits = []KitPart{{"set", "wiper", 4}}
		}, "J1; 2 wiper/k1 out of set"},
	}
	for _, tt := range tests {
		t.Run(tt.rule, func(t *testing.T) {
			shop := Shop{
				AsOf: today, Settings: Settings{Readiness: 0.97},
				Items:    []Item{{Code: "wiper", Measure: Each, Critical: true}, {Code: "seal", Measure: Each}, {Code: "set", Measure: Each}},
				Models:   []Model{{Code: "fell", Family: "fork"}},
				Services: []Service{{Code: "lower", Family: "fork"}},
				BOM:      []BOMLine{{Service: "lower", Model: AnyModel, Item: "wiper", Qty: 2, Need: 1}},
				Jobs:     []Job{job("J1", 1)},
			}
			tt.change(&shop)
			if got := picksText(Picks(shop, Kits(shop))); got != tt.want {
				t.Errorf("found\n%s\nexpected\n%s", got, tt.want)
			}
		})
	}
}

// For any shelf: every line finds in lots exactly what it was promised of the
// shelf, no lot gives more than it holds or than is kept for the job, none is
// picked once it has expired, and the shop is left as it was.
func TestPicksAreWhatWasPromised(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := anyShelf(t)
		before := fmt.Sprint(shop)
		gone := map[string]Quantity{}
		for _, job := range Picks(shop, Kits(shop)) {
			on := max(job.BenchDate, shop.AsOf)
			for _, o := range job.Opens {
				gone[o.Item+"/"+o.Lot] += o.Qty
			}
			for i, l := range job.Lines {
				var aside, all Quantity
				for _, p := range job.Picks[i] {
					all += p.Qty
					if p.SetAside {
						aside += p.Qty
					}
					if p.OutOf == "" {
						gone[p.Item+"/"+p.Lot] += p.Qty
					}
					if !(Lot{Expires: p.Expires}).UsableOn(on) || p.Qty <= 0 {
						t.Fatalf("%s: picked %+v for %s", job.Job, p, on)
					}
				}
				if aside != l.SetAside || all != l.Need-l.FromOrder-l.Short {
					t.Fatalf("%s: promised %+v, picked %+v", job.Job, l, job.Picks[i])
				}
			}
		}
		for _, l := range shop.Lots {
			if gone[l.Item+"/"+l.Code] > l.OnHand {
				t.Fatalf("%d picked of %+v", gone[l.Item+"/"+l.Code], l)
			}
		}
		if fmt.Sprint(shop) != before {
			t.Fatal("the shop was changed")
		}
	})
}
