package workbook

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"circlip/reports"
	"circlip/reports/plan"

	"github.com/xuri/excelize/v2"
)

// The hidden sheets on which a workbook carries what it was written from.
const (
	ordersMemory   = "circlip"
	deliveryMemory = "circlip delivery"
)

// memory is such a sheet: a head and plain values, one row a line.
type memory struct {
	tab  string
	head []string
	rows [][]any
}

// proposals remembers each order of a plan under the tab on which it stands.
// Days are texts, so that no program counts them in another way; quantities are
// in steps and money in minor units.
func proposals(p plan.Plan, tabs []string) *memory {
	m := &memory{tab: ordersMemory, head: namesOf(proposalColumns)}
	for i, o := range p.Orders {
		made, lines := p.Proposal(o), p.Offered(o)
		id := made.ID()
		for j, l := range made.Lines {
			m.rows = append(m.rows, []any{
				tabs[i], id, len(p.Orders), made.Workshop, made.AsOf.String(), made.Supplier, made.PlaceBy.String(), made.Earlier, p.Currency.Code,
				l.Item, string(lines[j].Item.Measure), l.Packs, int64(l.PackQty), int64(l.Price), int64(l.Position),
			})
		}
	}
	return m
}

// due remembers an order of which something is to come.
func due(d reports.DeliveryDue) *memory {
	m := &memory{tab: deliveryMemory, head: namesOf(dueColumns)}
	check := checkOf(d)
	for _, l := range d.Lines {
		m.rows = append(m.rows, []any{
			check, d.Order, d.Workshop, d.Supplier.Code, d.Currency.Code,
			l.Item.Code, string(l.Item.Measure), l.Packs, l.Outstanding, int64(l.PackQty), int64(l.Price),
		})
	}
	return m
}

// checkOf tells a delivery's memory that was changed: the beginning of a
// SHA-256 hash of all that it says.
func checkOf(d reports.DeliveryDue) string {
	h := sha256.New()
	fmt.Fprintf(h, "v1\x1f%s\x1f%s\x1f%s\x1f%s", d.Order, d.Workshop, d.Supplier.Code, d.Currency.Code)
	for _, l := range d.Lines {
		fmt.Fprintf(h, "\x1e%s\x1f%s\x1f%d\x1f%d\x1f%d\x1f%d", l.Item.Code, l.Item.Measure, l.Packs, l.Outstanding, l.PackQty, l.Price)
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// placeMemory makes room for the memory behind the other tabs, out of sight. It
// comes before any row is written: to hide a tab excelize reads every other one,
// which for streamed sheets takes ten times as long as all the rest.
func (b *reportBook) placeMemory(m *memory) error {
	if m == nil {
		return nil
	}
	if _, err := b.file.NewSheet(m.tab); err != nil {
		return err
	}
	return b.file.SetSheetVisible(m.tab, false)
}

// remember writes the memory.
func (b *reportBook) remember(m *memory) error {
	if m == nil {
		return nil
	}
	last, err := excelize.CoordinatesToCellName(len(m.head), 1+len(m.rows))
	if err != nil {
		return err
	}
	if err := b.file.SetSheetDimension(m.tab, "A1:"+last); err != nil {
		return err
	}
	stream, err := b.file.NewStreamWriter(m.tab)
	if err != nil {
		return err
	}
	head := make([]any, len(m.head))
	for i, name := range m.head {
		head[i] = name
	}
	for i, row := range append([][]any{head}, m.rows...) {
		if err := stream.SetRow(fmt.Sprintf("A%d", i+1), row); err != nil {
			return err
		}
	}
	return stream.Flush()
}

// orderTabs are the tabs of the orders among those of a workbook, in order.
func orderTabs(sheets []reports.Sheet) (tabs []string) {
	for i, tab := range tabNames(sheets) {
		if isOrder(sheets[i]) {
			tabs = append(tabs, tab)
		}
	}
	return tabs
}
