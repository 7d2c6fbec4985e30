package reports

import (
	"slices"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/testdata/golden/plans"
)

// cardOf is the card of the one job of a shop.
func cardOf(t *testing.T, shop inventory.Shop) Card {
	t.Helper()
	p := benchPapers(shop, plans.AsOf)
	if len(p.Cards) != 1 {
		t.Fatalf("found %d cards, expected one", len(p.Cards))
	}
	return p.Cards[0]
}

func factOn(c Card, label string) string {
	for _, f := range c.Facts {
		if f.Label == label {
			return strings.TrimSpace(f.Value.String() + " " + f.Unit)
		}
	}
	return ""
}

func TestWhatACardSaysOfItsJob(t *testing.T) {
	rows := []struct {
		rule, label, want string
		change            func(*inventory.Shop)
	}{
		{"a unit that the book does not know", "Unit", "not in the book", func(*inventory.Shop) {}},
		{"a model without a name goes by its code", "Model", "fell", func(*inventory.Shop) {}},
		{"one with a name by both", "Model", "Brackwater Fell (fell)", func(s *inventory.Shop) { s.Models[0].Name = "Brackwater Fell" }},
		{"what a service is called", "Service", "Lower legs (lower)", func(s *inventory.Shop) { s.Services[0].Name = "Lower legs" }},
		{"the day", "Bench day", "Monday 1 March 2027", func(*inventory.Shop) {}},
		{"a day that is past is overdue", "Bench day", "Sunday 28 February 2027, overdue", func(s *inventory.Shop) { s.Jobs[0].BenchDate-- }},
		{"minutes add up over services", "Bench time", "75 minutes", func(s *inventory.Shop) {
			s.Services = append(s.Services, inventory.Service{Code: "clean", Family: "fork", BenchMinutes: 25})
			s.Jobs[0].Services = []string{"lower", "clean"}
		}},
		{"but not over those that another covers", "Bench time", "120 minutes", func(s *inventory.Shop) {
			s.Services = append(s.Services, inventory.Service{Code: "full", Family: "fork", BenchMinutes: 120, Covers: []string{"lower"}})
			s.Jobs[0].Services = []string{"lower", "full"}
		}},
		{"whether the kit is there", "Kit", "short", func(s *inventory.Shop) { s.Lots = nil }},
		{"a meter nobody read", "Meter, last read", "not read yet", func(s *inventory.Shop) {
			s.Units, s.Jobs[0].Unit = []inventory.Unit{{Code: "U1"}}, "U1"
		}},
		{"the latest reading", "Meter, last read", "1,182.5 h on 20 February 2027", func(s *inventory.Shop) {
			s.Units = []inventory.Unit{{Code: "U1", Readings: []inventory.Reading{{Date: plans.AsOf - 30, Hours: 9}, {Date: plans.AsOf - 9, Hours: 1182.5}}}}
			s.Jobs[0].Unit = "U1"
		}},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			shop := aPick()
			r.change(&shop)
			if got := factOn(cardOf(t, shop), r.label); got != r.want {
				t.Errorf("%s: found %q, expected %q", r.label, got, r.want)
			}
		})
	}
}

func TestWhichSettingsACardShows(t *testing.T) {
	before := func(job string, ago inventory.Date, bar float64) inventory.Setup {
		return inventory.Setup{Unit: "U1", Job: job, On: plans.AsOf - ago, AirBar: &bar}
	}
	after := func(job string, ago inventory.Date, bar float64) inventory.Setup {
		s := before(job, ago, bar)
		s.After = true
		return s
	}
	rows := []struct {
		rule   string
		unit   string
		setups []inventory.Setup
		note   string
		bar    string
	}{
		{"none recorded: the card asks for them", "U1", nil, "None are recorded", ""},
		{"as it came to this job", "U1", []inventory.Setup{before("J1", 2, 5.5), after("J0", 90, 6)}, "as it came to job J1, Saturday 27 February 2027", "5.5"},
		{"also of a unit that the book does not know", "", []inventory.Setup{{Job: "J1", On: plans.AsOf, AirBar: new(5.25)}}, "as it came to job J1", "5.25"},
		{"else the latest of the unit, whatever the job", "U1", []inventory.Setup{before("J8", 200, 4), after("J9", 80, 6)}, "as it left job J9", "6"},
		{"as it left a job rather than as it came to it", "U1", []inventory.Setup{after("J9", 80, 6), before("J9", 80, 4)}, "as it left job J9", "6"},
		{"never those of another unit", "U1", []inventory.Setup{{Unit: "U2", Job: "J9", On: plans.AsOf - 1, AirBar: new(9.0)}}, "None are recorded", ""},
		{"two unknown units are not one", "", []inventory.Setup{{Unit: "", Job: "J9", On: plans.AsOf - 1, AirBar: new(9.0)}}, "None are recorded", ""},
		{"what was not recorded then stays blank", "U1", []inventory.Setup{{Unit: "U1", Job: "J1", On: plans.AsOf, Compression: "open"}, before("J0", 90, 6)}, "as it came to job J1", ""},
		{"a pressure of nothing is a pressure", "U1", []inventory.Setup{before("J1", 0, 0)}, "as it came to job J1", "0"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			shop := aPick()
			shop.Setups, shop.Jobs[0].Unit = r.setups, r.unit
			s := cardOf(t, shop).Tables[2]
			if got := rowsOf(s, "Setting", "Unit", "Before")[0]; got != "Air pressure bar "+r.bar {
				t.Errorf("found %q, expected %q bar", got, r.bar)
			}
			if !strings.Contains(s.Notes[0], r.note) {
				t.Errorf("found %q, expected it to say %q", s.Notes[0], r.note)
			}
			for _, row := range s.Rows {
				if !row.Cells[s.column("Found")].Blank() || !row.Cells[s.column("After")].Blank() {
					t.Error("expected room for what is found and for what it is set to")
				}
			}
		})
	}
}

func TestAllSettingsOfARiderAreOnTheCard(t *testing.T) {
	shop := aPick()
	shop.Setups = []inventory.Setup{{Job: "J1", On: plans.AsOf, AirBar: new(5.75), ReboundClicks: new(0), Compression: "2 of 3", VolumeSpacers: new(2), Note: "lively"}}
	want := []string{"Air pressure bar 5.75", "Rebound clicks from closed 0", "Compression position or clicks 2 of 3", "Volume spacers pieces 2", "Note  lively"}
	if got := rowsOf(cardOf(t, shop).Tables[2], "Setting", "Unit", "Before"); !slices.Equal(got, want) {
		t.Errorf("found %q, expected %q", got, want)
	}
}

func TestWhichCautionsACardHolds(t *testing.T) {
	always := []string{pressureCaution, eyeCaution, manualCaution}
	rows := []struct {
		rule  string
		kinds []inventory.Kind
		need  float64
		more  []string
	}{
		{"a job of wipers: pressure, eyes and the maker's manual all the same", []inventory.Kind{inventory.Wiper}, 1, nil},
		{"oil", []inventory.Kind{inventory.Oil}, 1, []string{oilCaution}},
		{"grease", []inventory.Kind{inventory.Grease}, 1, []string{oilCaution}},
		{"solvent, and the rags that are soaked with it", []inventory.Kind{inventory.Solvent}, 1, []string{solventCaution, oilCaution}},
		{"solvent that is only sometimes needed", []inventory.Kind{inventory.Solvent}, 0.1, []string{solventCaution, oilCaution}},
		{"nothing that the book knows", nil, 1, nil},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			shop := aPick()
			shop.BOM, shop.Items = nil, nil
			for _, k := range r.kinds {
				shop.Items = append(shop.Items, inventory.Item{Code: string(k), Kind: k, Measure: inventory.Millilitre})
				shop.BOM = append(shop.BOM, inventory.BOMLine{Service: "lower", Model: inventory.AnyModel, Item: string(k), Qty: 1, Need: r.need})
			}
			got := cardOf(t, shop).Cautions
			want := append(always[:2:2], r.more...)
			if want = append(want, manualCaution); !slices.Equal(got, want) {
				t.Errorf("found %q, expected %q", got, want)
			}
		})
	}
}

func TestASolventThatStandsInIsCautionedOf(t *testing.T) {
	shop := aPick()
	shop.Items[1].Kind = inventory.Solvent
	shop.Lots = []inventory.Lot{{Item: "seal", Code: "S", OnHand: 2}}
	shop.Alternates = []inventory.Alternate{{Item: "wiper", Alternate: "seal"}}
	if got := cardOf(t, shop).Cautions; !slices.Contains(got, solventCaution) {
		t.Errorf("found %q", got)
	}
}

// No figure of a maker is on a card: what only the manual knows is blank.
func TestFormsAreBlank(t *testing.T) {
	for _, c := range benchPapers(plans.Bench(), plans.AsOf).Cards {
		for _, f := range c.Forms {
			for _, row := range f.Rows {
				for i, cell := range row.Cells {
					if f.Columns[i].Edit && !cell.Blank() {
						t.Errorf("job %s, %s: found %q in %s, expected room for a pen", c.Job, f.Title, cell, f.Columns[i].Name)
					}
				}
			}
		}
	}
}
