package workbook

import (
	"archive/zip"
	"bytes"
	"fmt"
	"slices"
	"testing"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
)

// filledCount is the count sheet with pieces, a grease, and an oil in a known
// container on the scale, another of them empty.
func filledCount(t testing.TB) []byte {
	t.Helper()
	return edited(t, bottledCount(t), "Count", counting(func(d desk) {
		d.set("E10", 12)
		d.set("E12", 3.7)
		d.set("G13", 960)
		d.set("H13", 100)
		d.set("E14", 0)
	}))
}

// saneCount checks what every count promises: rows of items that were listed,
// each with a quantity that a shelf can hold, and pieces once.
func saneCount(s inventory.Stocktake) error {
	measures := map[string]inventory.Measure{}
	for _, i := range countShop().Items {
		measures[i.Code] = i.Measure
	}
	seen := map[string]bool{}
	for _, c := range s.Counted {
		listed := slices.ContainsFunc(s.Listed, func(l inventory.Listed) bool { return l.Item == c.Item })
		switch {
		case !listed, c.Qty < 0, c.Qty > inventory.MaxQuantity:
			return fmt.Errorf("found %d of %q", c.Qty, c.Item)
		case measures[c.Item] == inventory.Each && (seen[c.Item] || c.Weighed != nil):
			return fmt.Errorf("found the pieces %q twice or weighed", c.Item)
		case c.Container != "" && !slices.Contains([]string{"007", "CAN", "JAR", "OIL-2"}, c.Container), c.OpenedOn > s.On:
			return fmt.Errorf("found %q in the container %q, opened on %s", c.Item, c.Container, c.OpenedOn)
		}
		seen[c.Item] = true
	}
	if len(s.Counted) == 0 || s.On < s.WrittenOn {
		return fmt.Errorf("found %d rows of a count on %s", len(s.Counted), s.On)
	}
	return nil
}

// What a single damaged byte may do at most is to make another, whole count of
// the same sheet: it never panics, and what the ledger held is never another.
func TestADamagedByteOfACountBreaksNothingUnseen(t *testing.T) {
	workbook := filledCount(t)
	whole, err := zip.NewReader(bytes.NewReader(workbook), int64(len(workbook)))
	if err != nil {
		t.Fatal(err)
	}
	listed := stocktake().Listed
	for _, tab := range []string{"Count", countMemory} {
		name := partOf(t, workbook, tab)
		part := []byte(unpack(t, workbook)[name])
		told, read := 0, 0
		for at := 0; at < len(part); at += 13 {
			h := harms[at%len(harms)]
			file := repacked(t, whole, name, h.harm(slices.Clone(part), at))
			b, err := openBook(bytes.NewReader(file), int64(len(file)), standard)
			if err != nil {
				t.Fatal(err)
			}
			taken, faults, err := b.count()
			switch {
			case err != nil:
				t.Errorf("byte %d %s: %v", at, h.name, err)
			case len(faults) > 0:
				told++
			default:
				read++
				if err := saneCount(taken); err != nil {
					t.Errorf("byte %d %s: %v", at, h.name, err)
				}
				if diff := cmp.Diff(listed, taken.Listed); diff != "" {
					t.Errorf("byte %d %s: another ledger\n%s", at, h.name, diff)
				}
			}
		}
		t.Logf("%s: %d of %d harms told", tab, told, told+read)
		if told < (told+read)/4 {
			t.Errorf("%s: found %d of %d harms told, expected a quarter or more", tab, told, told+read)
		}
	}
}

// FuzzCount reads any text as the count and as its hidden sheet: no panic, no
// error, and either faults or a count that keeps its promises. Run it with
// -fuzzminimizetime=10x.
func FuzzCount(f *testing.F) {
	workbook := filledCount(f)
	p, sheet, hidden := unpack(f, workbook), partOf(f, workbook, "Count"), partOf(f, workbook, countMemory)
	f.Add(p[sheet], p[hidden])
	f.Add("", p[hidden])
	f.Add(p[sheet], "")
	f.Fuzz(func(t *testing.T, countSheet, hiddenSheet string) {
		file := p.with(parts{sheet: countSheet + " ", hidden: hiddenSheet + " "}).pack()
		b, err := openBook(bytes.NewReader(file), int64(len(file)), standard)
		if err != nil {
			t.Fatal(err)
		}
		taken, faults, err := b.count()
		switch {
		case err != nil:
			t.Fatal(err)
		case len(faults) > 0:
			if len(taken.Counted) > 0 {
				t.Fatalf("found a count beside %v", faults)
			}
		default:
			if taken.Workshop != "Larchfell Bike Park" {
				return // a hidden sheet of its own, with its own check
			}
			if err := saneCount(taken); err != nil {
				t.Error(err)
			}
		}
	})
}
