package big

import (
	"cmp"
	"fmt"
	"slices"

	"circlip/inventory"
)

// fluid items are shared by all families.
var fluids = []inventory.Item{
	{Code: "grease-post", Kind: inventory.Grease, Measure: inventory.Gram, ShelfMonths: 36},
	{Code: "grease-seal", Kind: inventory.Grease, Measure: inventory.Gram, ShelfMonths: 36},
	{Code: "oil-can", Kind: inventory.Oil, Measure: inventory.Millilitre, ShelfMonths: 48, DensityKgM3: 890},
	{Code: "oil-damper-light", Kind: inventory.Oil, Measure: inventory.Millilitre, ShelfMonths: 48, DensityKgM3: 853},
	{Code: "oil-damper-medium", Kind: inventory.Oil, Measure: inventory.Millilitre, ShelfMonths: 48, DensityKgM3: 858},
	{Code: "oil-lower", Kind: inventory.Oil, Measure: inventory.Millilitre, ShelfMonths: 48, DensityKgM3: 872},
	{Code: "oil-shock", Kind: inventory.Oil, Measure: inventory.Millilitre, ShelfMonths: 48, DensityKgM3: 861},
	{Code: "solvent", Kind: inventory.Solvent, Measure: inventory.Millilitre, ShelfMonths: 60, DensityKgM3: 786},
}

// parts are what every model has of its own; the last two come only inside its
// spring kit.
var parts = []struct {
	suffix string
	kind   inventory.Kind
}{
	{"wiper", inventory.Wiper}, {"foam", inventory.Other}, {"ring", inventory.ORing}, {"spring-kit", inventory.Kit},
	{"damper-kit", inventory.Kit}, {"glide", inventory.GlideRing}, {"backup", inventory.BackupRing}, {"bushing", inventory.Bushing},
	{"spacer", inventory.Spacer}, {"piston-seal", inventory.Seal}, {"shaft-seal", inventory.Seal},
}

// line is a line of a bill; an item that begins with % is the model's own, one
// that begins with # a shared piece of hardware.
type line struct {
	item        string
	qty         inventory.Quantity
	need, waste float64
}

// small, middle and full are the bills of the services by how wide they are.
var (
	small = []line{
		{"oil-lower", 200, 1, .05}, {"grease-seal", 40, 1, 0}, {"solvent", 400, 1, 0}, {"%wiper", 2, 1, .02}, {"%foam", 2, 1, 0},
		{"%ring", 1, 1, .05}, {"#1", 2, 1, 0}, {"#2", 2, .15, 0}, {"%bushing", 1, .08, 0}, {"%shaft-seal", 1, .04, 0},
	}
	middle = []line{
		{"oil-can", 40, 1, .1}, {"grease-seal", 40, 1, 0}, {"%wiper", 2, 1, .02}, {"%ring", 2, 1, 0}, {"%spring-kit", 1, 1, 0},
		{"%glide", 1, .5, 0}, {"%spacer", 1, .1, 0}, {"#3", 1, .08, 0}, {"oil-lower", 200, 1, .05},
	}
	full = []line{
		{"oil-damper-light", 1600, 1, .15}, {"oil-lower", 200, 1, .05}, {"solvent", 600, 1, 0}, {"%damper-kit", 1, 1, 0},
		{"%wiper", 2, 1, .02}, {"%foam", 2, 1, 0}, {"%ring", 2, 1, 0}, {"%glide", 1, 1, 0}, {"%backup", 1, .4, 0}, {"#4", 1, 1, .05}, {"#5", 1, .3, 0},
	}
)

// catalogue makes models, services, items and bills.
func (m *maker) catalogue() {
	m.Shop.Items = slices.Clone(fluids)
	for f, family := range families {
		for n := range m.size.Models {
			model := inventory.Model{Code: fmt.Sprintf("%s-%02d", family.name, n+1), Family: family.name}
			model.Name = "Model " + model.Code
			m.Shop.Models = append(m.Shop.Models, model)
			m.ownParts(model.Code)
		}
		m.services(f)
	}
	for n := 0; len(m.Shop.Items) < m.size.Items; n++ {
		m.Shop.Items = append(m.Shop.Items, inventory.Item{Code: fmt.Sprintf("hardware-%03d", n), Kind: inventory.Hardware, Measure: inventory.Each})
	}
	m.item = map[string]inventory.Item{}
	for i := range m.Shop.Items {
		it := &m.Shop.Items[i]
		it.Name, it.Critical = "Item "+it.Code, it.Kind != inventory.Spacer && it.Kind != inventory.Solvent
		m.item[it.Code] = *it
	}
	m.bills()
	slices.SortFunc(m.Shop.Items, func(a, b inventory.Item) int { return cmp.Compare(a.Code, b.Code) })
	slices.SortFunc(m.Shop.Models, func(a, b inventory.Model) int { return cmp.Compare(a.Code, b.Code) })
	slices.SortFunc(m.Shop.Services, func(a, b inventory.Service) int { return cmp.Compare(a.Code, b.Code) })
	slices.SortFunc(m.Shop.Kits, func(a, b inventory.KitPart) int {
		return cmp.Or(cmp.Compare(a.Kit, b.Kit), cmp.Compare(a.Item, b.Item))
	})
	m.bill = inventory.NewBill(m.Shop)
}

func (m *maker) ownParts(model string) {
	for _, p := range parts {
		m.Shop.Items = append(m.Shop.Items, inventory.Item{Code: model + "-" + p.suffix, Kind: p.kind, Measure: inventory.Each})
	}
	for _, seal := range []string{"piston-seal", "shaft-seal"} {
		m.Shop.Kits = append(m.Shop.Kits, inventory.KitPart{Kit: model + "-spring-kit", Item: model + "-" + seal, Qty: 1})
	}
}

func (m *maker) services(family int) {
	f := families[family]
	for _, s := range f.services {
		made := inventory.Service{
			Code: f.name + "-" + s.code, Family: f.name, EveryHours: float64(s.hours), EveryMonths: s.months, BenchMinutes: s.hours / 2,
		}
		made.Name = "Service " + made.Code
		for _, c := range s.covers {
			made.Covers = append(made.Covers, f.name+"-"+f.services[c].code)
		}
		m.Shop.Services = append(m.Shop.Services, made)
	}
}

// bills writes shared lines once a family and own ones by model. In a month the
// first family's full service turns to another damper oil, and one model takes
// more of it than the family.
func (m *maker) bills() {
	hardware := m.size.Items - len(fluids) - len(parts)*len(families)*m.size.Models
	change := AsOf + 31
	for f, family := range families {
		for s, svc := range family.services {
			wide := []([]line){small, middle, full}[s*3/len(family.services)]
			if s == len(family.services)-1 {
				wide = full
			}
			for n, l := range wide {
				b := inventory.BOMLine{Service: family.name + "-" + svc.code, Model: inventory.AnyModel, Item: l.item, Qty: l.qty, Need: l.need, Waste: l.waste}
				switch {
				case l.item[0] == '%':
					m.eachModel(b, family.name, l.item[1:])
					continue
				case l.item[0] == '#':
					b.Item = fmt.Sprintf("hardware-%03d", (7*f+3*s+5*n)%hardware)
				case f == 0 && l.item == "oil-damper-light":
					b.To = change
					m.Shop.BOM = append(m.Shop.BOM, b)
					b.Item, b.From, b.To = "oil-damper-medium", change, 0
				case l.item == "oil-lower":
					more := b
					more.Model, more.Qty = family.name+"-01", 250
					m.Shop.BOM = append(m.Shop.BOM, more)
				}
				m.Shop.BOM = append(m.Shop.BOM, b)
			}
		}
	}
	slices.SortFunc(m.Shop.BOM, func(a, b inventory.BOMLine) int {
		return cmp.Or(cmp.Compare(a.Service, b.Service), cmp.Compare(a.Model, b.Model), cmp.Compare(a.Item, b.Item), cmp.Compare(a.From, b.From))
	})
}

func (m *maker) eachModel(b inventory.BOMLine, family, suffix string) {
	for n := range m.size.Models {
		b.Model = fmt.Sprintf("%s-%02d", family, n+1)
		b.Item = b.Model + "-" + suffix
		m.Shop.BOM = append(m.Shop.BOM, b)
	}
}

// offers gives every item but the parts of kits one supplier or two, and four
// items of ten price breaks.
func (m *maker) offers() {
	inKit := map[string]bool{}
	for _, k := range m.Shop.Kits {
		inKit[k.Item] = true
	}
	for n, it := range m.Shop.Items {
		if inKit[it.Code] {
			continue
		}
		o := inventory.Offer{
			Item: it.Code, Supplier: m.Shop.Suppliers[m.rnd.IntN(len(m.Shop.Suppliers))].Code, FromPacks: 1,
			SupplierCode: fmt.Sprintf("N%05d", 1000+37*n), PackQty: inventory.Quantity([]int{1, 1, 2, 5, 10}[m.rnd.IntN(5)]),
			MinPacks: 1, Multiple: 1, Price: inventory.Money(400 + m.rnd.IntN(3600)),
		}
		switch {
		case it.Measure != inventory.Each:
			o.PackQty = 10_000 // 1 l or 1 kg
		case it.Kind == inventory.Hardware:
			o.PackQty = 25
		}
		m.Shop.Offers = append(m.Shop.Offers, o)
		if n%10 < 4 {
			for breaks, from := range []int{5, 20} {
				cheaper := o
				cheaper.FromPacks, cheaper.Price = from, o.Price*inventory.Money(94-4*breaks)/100
				m.Shop.Offers = append(m.Shop.Offers, cheaper)
			}
		}
		if n%3 == 0 {
			m.secondOffer(o)
		}
	}
	slices.SortFunc(m.Shop.Offers, func(a, b inventory.Offer) int {
		return cmp.Or(cmp.Compare(a.Item, b.Item), cmp.Compare(a.Supplier, b.Supplier), cmp.Compare(a.FromPacks, b.FromPacks))
	})
}

// secondOffer is a dearer and faster supplier.
func (m *maker) secondOffer(o inventory.Offer) {
	for o.Supplier == m.Shop.Offers[len(m.Shop.Offers)-1].Supplier {
		o.Supplier = m.Shop.Suppliers[m.rnd.IntN(len(m.Shop.Suppliers))].Code
	}
	fast := 2
	o.Price, o.LeadDays, o.SupplierCode = o.Price*115/100, &fast, "F"+o.SupplierCode
	m.Shop.Offers = append(m.Shop.Offers, o)
}
