package reports

import (
	"cmp"
	"slices"

	"circlip/inventory"
)

// Label is what sticks on a bin or on a bag: words for people and a code for a
// scanner.
type Label struct {
	Item, Name string
	Lot        string // empty: a label of the item
	Bin        string
	Expires    inventory.Date // of the lot; zero: it does not age, or a label of the item
	Code       QR
}

// Labels are those to be printed together.
type Labels struct {
	Workshop string
	On       inventory.Date
	Labels   []Label
}

// ItemLabels are labels of the items that are wanted, as people walk past them.
// The code says the item's GTIN where it names that item alone, as a scanner
// reads it from the pack itself; else our own text, see inventory.LabelText.
func ItemLabels(shop inventory.Shop, wanted func(inventory.Item) bool) (Labels, error) {
	l := Labels{Workshop: shop.Settings.Workshop, On: shop.AsOf}
	for _, i := range shop.Items {
		if !wanted(i) {
			continue
		}
		text := inventory.LabelText(i.Code, "")
		if item, _, err := inventory.ParseScan(i.GTIN, shop); err == nil && item == i.Code {
			text = i.GTIN
		}
		if err := l.add(Label{Item: i.Code, Name: itemName(i), Bin: i.Bin}, text); err != nil {
			return Labels{}, err
		}
	}
	l.sort()
	return l, nil
}

// LotLabels are labels of the lots on the shelf that are wanted.
func LotLabels(shop inventory.Shop, wanted func(inventory.Lot) bool) (Labels, error) {
	l := Labels{Workshop: shop.Settings.Workshop, On: shop.AsOf}
	items := map[string]inventory.Item{}
	for _, i := range shop.Items {
		items[i.Code] = i
	}
	for _, lot := range shop.Lots {
		if !wanted(lot) {
			continue
		}
		i := items[lot.Item]
		label := Label{Item: lot.Item, Name: itemName(i), Lot: lot.Code, Bin: i.Bin, Expires: lot.Expires}
		if err := l.add(label, inventory.LabelText(lot.Item, lot.Code)); err != nil {
			return Labels{}, err
		}
	}
	l.sort()
	return l, nil
}

func (l *Labels) add(label Label, text string) (err error) {
	label.Code, err = QRCode(text)
	l.Labels = append(l.Labels, label)
	return err
}

func (l *Labels) sort() {
	slices.SortStableFunc(l.Labels, func(a, b Label) int {
		return cmp.Or(compareBins(a.Bin, b.Bin), cmp.Compare(a.Item, b.Item), cmp.Compare(a.Lot, b.Lot))
	})
}

// Words are the lines of a label below its name, safe to show.
func (l Label) Words() (lines []string) {
	if l.Name != l.Item {
		lines = append(lines, Plain(l.Item))
	}
	for _, part := range []struct{ before, text string }{{"Lot ", l.Lot}, {"Use before ", l.Expires.String()}, {"Bin ", l.Bin}} {
		if part.text != "" {
			lines = append(lines, part.before+Plain(part.text))
		}
	}
	return lines
}

// longestName is what fits on a label beside its code.
const longestName = 48

// Heading is the label's name, no longer than it has room for.
func (l Label) Heading() string { return shorten(Plain(l.Name), longestName) }
