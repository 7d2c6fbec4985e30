package inventory

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// ISO2230 names the edition that the storage groups are taken from.
const ISO2230 = "ISO 2230:2002"

// StorageGroup is a group of elastomers that keep equally long in store, as
// ISO 2230:2002 sorts them by material. The zero group means that the standard
// says nothing: PTFE, metals, fluids.
type StorageGroup struct {
	Name           string // A, B or C
	Years          int    // from cure to the first limit
	ExtensionYears int    // once more, after an inspection that is recorded
}

var (
	groupA = StorageGroup{"A", 5, 2}
	groupB = StorageGroup{"B", 7, 3}
	groupC = StorageGroup{"C", 10, 5}
)

// storageGroups are the materials of ISO 2230:2002 by their ISO 1629 code. AEM,
// XNBR, CO, EPM, PVMQ and FEPM are from memory; the others are printed by two
// extracts of the standard.
var storageGroups = map[string]StorageGroup{
	"NR": groupA, "IR": groupA, "BR": groupA, "SBR": groupA, "AU": groupA, "EU": groupA,
	"NBR": groupB, "HNBR": groupB, "CR": groupB, "ACM": groupB, "IIR": groupB, "ECO": groupB,
	"AEM": groupB, "XNBR": groupB, "CO": groupB,
	"FKM": groupC, "FFKM": groupC, "EPDM": groupC, "VMQ": groupC, "FVMQ": groupC, "CSM": groupC,
	"EPM": groupC, "PVMQ": groupC, "FEPM": groupC,
}

// StorageGroupOf is the group of a material by its ISO 1629 code. Size, colour
// and maker do not matter.
func StorageGroupOf(material string) (StorageGroup, bool) {
	g, known := storageGroups[strings.ToUpper(material)]
	return g, known
}

// Cure is when a part was vulcanised, as its mark tells: a day, or a quarter.
// The zero Cure means not known.
type Cure struct {
	From, Through Date
}

// ErrCure is wrapped by every refusal of a cure mark.
var ErrCure = errors.New("not a cure mark")

// lastCenturyFrom is the first two-digit year read as one of the 1900s: no
// date of the book lies before 1970.
const lastCenturyFrom = 70

// ParseCure reads a date, a quarter mark such as 3Q24, or the form of ISO 2230,
// 3/94, which is the third quarter of 1994 and not its March. Years have two
// digits (70 to 99 are of the last century) or four.
func ParseCure(text string) (Cure, error) {
	if day, err := ParseDate(text); err == nil {
		return Cure{From: day, Through: day}, nil
	}
	refused := fmt.Errorf("%w: found %q, expected a quarter and a year such as 3Q24 or 3/94, or a date as YYYY-MM-DD", ErrCure, text)
	if len(text) < 4 || !strings.ContainsRune("Qq/", rune(text[1])) || text[0] < '1' || text[0] > '4' {
		return Cure{}, refused
	}
	year, err := strconv.Atoi(text[2:])
	if err != nil || !digits(text[2:]) || (len(text) != 4 && len(text) != 6) {
		return Cure{}, refused
	}
	switch {
	case len(text) == 4 && year >= lastCenturyFrom:
		year += 1900
	case len(text) == 4:
		year += 2000
	}
	if year < 1970 || year > lastYear {
		return Cure{}, fmt.Errorf("%w: found %q, expected a year from 1970 to %d", ErrCure, text, lastYear)
	}
	first := time.Month(3*(text[0]-'1') + 1)
	return Cure{From: NewDate(year, first, 1), Through: NewDate(year, first+3, 1) - 1}, nil
}

// IsZero reports whether nothing is known of the cure.
func (c Cure) IsZero() bool { return c == Cure{} }

// Expires is the last day of the first storage period. It is counted from the
// last day of the cure quarter: a quarter is a quarter old only when the next
// one has ended (the US Navy's training manual on quarter marks). The zero
// group does not expire.
func (g StorageGroup) Expires(c Cure) Date {
	if g.Years == 0 {
		return 0
	}
	return c.Through.AddMonths(12 * g.Years)
}

// Extended is the last day after one extension.
func (g StorageGroup) Extended(c Cure) Date {
	if g.Years == 0 {
		return 0
	}
	return c.Through.AddMonths(12 * (g.Years + g.ExtensionYears))
}

// Life is how long a lot of an item keeps.
type Life struct {
	ShelfMonths int          // the item's own limit, from its supplier; 0: none stated
	Group       StorageGroup // of its material

	OpenedMonths int // of a container once opened; 0: as long as one that is not
}

// LifeOf is the life of an item. A kit without a limit or material of its own
// keeps as long as the shortest-lived of its parts.
func LifeOf(item Item, parts []Item) Life {
	life := Life{ShelfMonths: item.ShelfMonths, OpenedMonths: item.OpenedMonths}
	if group, known := StorageGroupOf(item.Material); known {
		life.Group = group
		return life
	}
	for _, part := range parts {
		its := LifeOf(part, nil)
		switch {
		case item.ShelfMonths == 0 && its.ShelfMonths > 0 && (life.ShelfMonths == 0 || its.ShelfMonths < life.ShelfMonths):
			life.ShelfMonths = its.ShelfMonths
		case its.ShelfMonths == 0 && its.Group.Years > 0 && (life.Group.Years == 0 || its.Group.Years < life.Group.Years):
			life.Group = its.Group
		}
	}
	if item.ShelfMonths == 0 && life.Group.Years > 0 && 12*life.Group.Years <= life.ShelfMonths {
		life.ShelfMonths = 0 // a part by its material goes first
	}
	return life
}

// InspectedMark stands in the code of a lot whose life was extended once, and
// of what was taken from it later: ISO 2230 allows it no second time.
const InspectedMark = " inspected"

// Inspected is until when a lot keeps after the inspection of ISO 2230: its
// expiry and the extension of its material's group. Zero: there is none for a
// lot that does not age, has shelf months of its supplier's, is of a material
// that the standard does not know, or was extended before.
func (l Life) Inspected(lot Lot) Date {
	if lot.Expires.IsZero() || l.ShelfMonths > 0 || l.Group.Years == 0 || strings.Contains(lot.Code, InspectedMark) {
		return 0
	}
	return lot.Expires.AddMonths(12 * l.Group.ExtensionYears)
}

// PartsOf lists the items that a kit holds.
func PartsOf(shop Shop, kit string) []Item {
	holds := map[string]bool{}
	for _, k := range shop.Kits {
		holds[k.Item] = holds[k.Item] || k.Kit == kit
	}
	return slices.DeleteFunc(slices.Clone(shop.Items), func(i Item) bool { return !holds[i.Code] })
}

// Expires is a lot's last good day: the day printed on it; else the item's own
// shelf months, else its group's storage life, from the cure or, where that is
// not known, from the day the lot was first seen, which is later than it should
// be. Zero: it does not age.
func (l Life) Expires(printed Date, cure Cure, seen Date) Date {
	if cure.IsZero() {
		cure = Cure{From: seen, Through: seen}
	}
	switch {
	case !printed.IsZero():
		return printed
	case l.ShelfMonths > 0:
		return cure.Through.AddMonths(l.ShelfMonths)
	default:
		return l.Group.Expires(cure)
	}
}
