package inventory

import (
	"errors"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The groups are those of testdata/published/standards/iso2230.csv: two public
// extracts of ISO 2230:2002.
func TestStorageGroupsOfISO2230(t *testing.T) {
	rows := published(t, "iso2230.csv")
	grouped := 0
	for _, row := range rows {
		got, known := StorageGroupOf(row["iso1629_code"])
		if row["iso2230_group"] == "" {
			if known {
				t.Errorf("%s: group %s, the standard gives none", row["iso1629_code"], got.Name)
			}
			continue
		}
		grouped++
		years, _ := strconv.Atoi(row["initial_years"])
		more, _ := strconv.Atoi(row["extension_years"])
		if want := (StorageGroup{row["iso2230_group"], years, more}); got != want {
			t.Errorf("%s: %+v, want %+v", row["iso1629_code"], got, want)
		}
	}
	if grouped != len(storageGroups) {
		t.Errorf("%d materials checked, %d known: one has no published value", grouped, len(storageGroups))
	}
}

// testdata/published/standards/cure_dates.csv: marks as a US Navy manual and
// ISO 2230 print them, expiry computed apart from this program.
func TestStorageLifeFromCureMarks(t *testing.T) {
	for _, row := range published(t, "cure_dates.csv") {
		cure, err := ParseCure(row["mark"])
		if err != nil {
			t.Errorf("%s: %v", row["mark"], err)
			continue
		}
		group, _ := StorageGroupOf(row["material"])
		for what, pair := range map[string][2]string{
			"quarter start": {cure.From.String(), row["quarter_start"]},
			"quarter end":   {cure.Through.String(), row["quarter_end"]},
			"expiry":        {group.Expires(cure).String(), row["initial_expiry_from_quarter_end"]},
			"extended":      {group.Extended(cure).String(), row["after_one_extension_from_quarter_end"]},
		} {
			if pair[0] != pair[1] {
				t.Errorf("%s %s %s: %s, want %s", row["mark"], row["material"], what, pair[0], pair[1])
			}
		}
	}
}

func TestParseCure(t *testing.T) {
	for _, tc := range []struct{ rule, mark, from, through string }{
		{"a day is itself", "2024-09-15", "2024-09-15", "2024-09-15"},
		{"lower case is the same quarter", "3q24", "2024-07-01", "2024-09-30"},
		{"four digits need no window", "1Q1975", "1975-01-01", "1975-03-31"},
		{"70 is the oldest two-digit year", "2/70", "1970-04-01", "1970-06-30"},
		{"69 is the newest", "4/69", "2069-10-01", "2069-12-31"},
		{"a leap year's first quarter", "1Q24", "2024-01-01", "2024-03-31"},
	} {
		cure, err := ParseCure(tc.mark)
		if err != nil || cure.From.String() != tc.from || cure.Through.String() != tc.through {
			t.Errorf("%s: %s to %s, %v, want %s to %s", tc.rule, cure.From, cure.Through, err, tc.from, tc.through)
		}
	}
	for _, tc := range []struct{ rule, mark string }{
		{"no fifth quarter", "5Q24"},
		{"a month is not a quarter", "7/24"},
		{"no quarter zero", "0Q24"},
		{"a year has two or four digits", "3Q124"},
		{"nothing after the year", "3Q24 "},
		{"no sign in the year", "3Q-4"},
		{"a year the book can hold", "3Q2300"},
		{"a day that exists", "2024-02-30"},
		{"not empty", ""},
		{"not a word", "soon"},
	} {
		if cure, err := ParseCure(tc.mark); !errors.Is(err, ErrCure) {
			t.Errorf("%s: %q gave %s, %v", tc.rule, tc.mark, cure.Through, err)
		}
	}
}

func TestQuarterMarksTileTheCalendar(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := Date(rapid.IntRange(1, int(NewDate(2069, time.December, 31))).Draw(t, "day"))
		y, m, _ := day.Time().Date()
		quarter := strconv.Itoa((int(m) + 2) / 3)
		short, err := ParseCure(quarter + "Q" + strconv.Itoa(y)[2:])
		if err != nil {
			t.Fatal(err)
		}
		long, err := ParseCure(quarter + "/" + strconv.Itoa(y))
		if err != nil || long != short {
			t.Fatalf("%s: %v and %v (%v)", day, short, long, err)
		}
		if day < short.From || day > short.Through {
			t.Fatalf("%s lies outside %s to %s", day, short.From, short.Through)
		}
	})
}

func TestLifeOfALot(t *testing.T) {
	seen := NewDate(2026, time.March, 2)
	cured, _ := ParseCure("3Q24")
	printed := NewDate(2027, time.May, 31)
	nitrile := Item{Material: "NBR"}
	for _, tc := range []struct {
		rule    string
		item    Item
		parts   []Item
		printed Date
		cure    Cure
		want    string
	}{
		{"the printed date wins", nitrile, nil, printed, cured, "2027-05-31"},
		{"the item's own months come before the standard", Item{Material: "NBR", ShelfMonths: 24}, nil, 0, cured, "2026-09-30"},
		{"the standard counts from the cure", nitrile, nil, 0, cured, "2031-09-30"},
		{"and from the first day seen where no cure is known", nitrile, nil, 0, Cure{}, "2033-03-02"},
		{"material codes in small letters are the same", Item{Material: "fkm"}, nil, 0, cured, "2034-09-30"},
		{"what is no elastomer does not age", Item{Material: "PTFE"}, nil, 0, cured, ""},
		{"nothing stated: it does not age", Item{}, nil, 0, Cure{}, ""},
		{"a kit keeps as long as its shortest-lived part", Item{Kind: Kit}, []Item{{Material: "FKM"}, {Material: "AU"}, {Material: "PTFE"}, {Material: "NBR"}}, 0, cured, "2029-09-30"},
		{"or as a part's own months, where these end first", Item{Kind: Kit}, []Item{{Material: "AU"}, {Material: "NBR", ShelfMonths: 36}}, 0, cured, "2027-09-30"},
		{"a part's own months stand in place of its material's", Item{Kind: Kit}, []Item{{Material: "AU", ShelfMonths: 96}, {Material: "NBR"}}, 0, cured, "2031-09-30"},
		{"a kit's own months come before its parts'", Item{Kind: Kit, ShelfMonths: 48}, []Item{{ShelfMonths: 12}}, 0, cured, "2028-09-30"},
		{"a kit's own material comes before its parts'", Item{Kind: Kit, Material: "FKM"}, []Item{{Material: "AU"}}, 0, cured, "2034-09-30"},
	} {
		if got := LifeOf(tc.item, tc.parts).Expires(tc.printed, tc.cure, seen); got.String() != tc.want {
			t.Errorf("%s: %s, want %s", tc.rule, got, tc.want)
		}
	}
}

func TestOneInspectionLengthensALotsLife(t *testing.T) {
	lot := Lot{Code: "L1", Expires: NewDate(2031, time.September, 30)}
	for _, tc := range []struct {
		rule string
		item Item
		lot  Lot
		want string
	}{
		{"by its group's years", Item{Material: "NBR"}, lot, "2034-09-30"},
		{"of polyurethane two", Item{Material: "AU"}, lot, "2033-09-30"},
		{"not a second time", Item{Material: "NBR"}, Lot{Code: "L1 inspected", Expires: lot.Expires}, ""},
		{"nor what was opened of it after", Item{Material: "NBR"}, Lot{Code: "L1 inspected opened 2031-10-01", Expires: lot.Expires}, ""},
		{"not what a supplier limits", Item{Material: "NBR", ShelfMonths: 24}, lot, ""},
		{"not what the standard does not know", Item{Material: "PTFE"}, lot, ""},
		{"not what does not age", Item{Material: "NBR"}, Lot{Code: "L1"}, ""},
	} {
		if got := LifeOf(tc.item, nil).Inspected(tc.lot); got.String() != tc.want {
			t.Errorf("%s: %s, want %q", tc.rule, got, tc.want)
		}
	}
}
