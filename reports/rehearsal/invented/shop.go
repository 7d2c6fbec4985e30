package invented

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"circlip/inventory"
)

// settings are what the book says; the truth is another matter.
func settings() inventory.Settings {
	return inventory.Settings{
		Workshop: "Invented workshop", Currency: inventory.Currency{Code: "EUR", Decimals: 2}, TimeZone: "Europe/Vienna",
		Readiness: 0.97, HorizonWeeks: 26, OrderWeekday: time.Monday, HoldingRate: 0.20, ShowRate: 0.95,
		FleetCapture: 1, FleetLagWeeks: 1, CustomerCapture: 0.6, CustomerLagWeeks: 3,
		UsageSpreadH: 4, FoldIn: 0.25, Learn: true, ShelfLifeStandard: inventory.ISO2230,
	}
}

// catalogue fills the shop's tables of things that do not happen.
func (m *maker) catalogue() {
	shop := &m.Shop
	shop.Settings, shop.Season, shop.Suppliers = settings(), map[int]float64{}, suppliers()
	shop.Models = slices.Clone(models[:m.Models])
	shop.Services = slices.Clone(services)
	for _, g := range shared {
		m.stock(g)
	}
	for _, model := range shop.Models {
		for _, g := range own[model.Family] {
			g.code = ofModel(g.code, model)
			m.stock(g)
		}
	}
	for _, s := range shop.Services {
		m.bill(s)
	}
	m.kits()
	shop.Alternates = []inventory.Alternate{{Item: "oil-can", Alternate: "oil-shock", Rank: 1, Note: "thicker"}}
	slices.SortFunc(shop.Models, func(a, b inventory.Model) int { return cmp.Compare(a.Code, b.Code) })
	slices.SortFunc(shop.Services, func(a, b inventory.Service) int { return cmp.Compare(a.Code, b.Code) })
	slices.SortFunc(shop.Items, func(a, b inventory.Item) int { return cmp.Compare(a.Code, b.Code) })
	slices.SortFunc(shop.Kits, func(a, b inventory.KitPart) int {
		return cmp.Or(cmp.Compare(a.Kit, b.Kit), cmp.Compare(a.Item, b.Item))
	})
	slices.SortFunc(shop.Offers, func(a, b inventory.Offer) int {
		return cmp.Or(cmp.Compare(a.Item, b.Item), cmp.Compare(a.Supplier, b.Supplier), cmp.Compare(a.FromPacks, b.FromPacks))
	})
	slices.SortFunc(shop.BOM, func(a, b inventory.BOMLine) int {
		return cmp.Or(cmp.Compare(a.Service, b.Service), cmp.Compare(a.Model, b.Model), cmp.Compare(a.Item, b.Item))
	})
}

// stock adds an item with its offer, its price break where there is one, and a
// little of it on the opening shelf.
func (m *maker) stock(g good) {
	item := inventory.Item{
		Code: g.code, Name: strings.ReplaceAll(g.code, "-", " "), Kind: g.kind, Measure: g.measure,
		Critical: g.kind != inventory.Spacer && g.kind != inventory.Solvent,
	}
	switch g.kind {
	case inventory.Oil:
		item.ShelfMonths, item.DensityKgM3 = 48, 865
	case inventory.Solvent:
		item.ShelfMonths, item.DensityKgM3 = 60, 786
	case inventory.Grease:
		item.ShelfMonths = 36
	}
	m.measure[g.code] = g.measure
	m.Shop.Items = append(m.Shop.Items, item)
	o := inventory.Offer{
		Item: g.code, Supplier: g.supplier, FromPacks: 1, SupplierCode: "N-" + g.code,
		PackQty: g.measure.RoundUp(float64(g.pack)), MinPacks: 1, Multiple: 1, Price: g.price,
	}
	m.Shop.Offers = append(m.Shop.Offers, o)
	if g.kind == inventory.Oil || g.kind == inventory.Wiper {
		o.FromPacks, o.Price = 5, g.price*92/100
		m.Shop.Offers = append(m.Shop.Offers, o)
	}
	m.Shop.Openings = append(m.Shop.Openings, inventory.Count{Item: g.code, Date: m.Start, Qty: o.PackQty})
	m.Shop.Lots = append(m.Shop.Lots, inventory.Lot{
		Item: g.code, Code: "opening", Received: m.Start, OnHand: o.PackQty, UnitCost: inventory.CostOf(g.price, o.PackQty, g.measure),
		Expires: inventory.LifeOf(item, nil).Expires(0, inventory.Cure{}, m.Start),
	})
}

// bill adds a service's lines: shared items once a family, own ones by model.
func (m *maker) bill(s inventory.Service) {
	for _, l := range bills[s.Code] {
		b := inventory.BOMLine{Service: s.Code, Model: inventory.AnyModel, Item: l.item, Need: l.need, Waste: l.waste}
		for _, model := range m.Shop.Models {
			if model.Family != s.Family {
				continue
			}
			if b.Item = ofModel(l.item, model); b.Item != l.item {
				b.Model = model.Code
			}
			b.Qty = m.measure[b.Item].RoundUp(l.qty)
			m.Shop.BOM = append(m.Shop.BOM, b)
			if b.Model == inventory.AnyModel {
				break
			}
		}
	}
}

// kits hold pieces that are to be had singly too.
func (m *maker) kits() {
	for _, model := range m.Shop.Models {
		kit := model.Code + "-damper-kit"
		switch model.Family {
		case fork:
			m.Shop.Kits = append(m.Shop.Kits, inventory.KitPart{Kit: kit, Item: "oring-cap", Qty: 2}, inventory.KitPart{Kit: kit, Item: model.Code + "-glide", Qty: 2})
		case shock:
			m.Shop.Kits = append(m.Shop.Kits, inventory.KitPart{Kit: kit, Item: model.Code + "-shaft-seal", Qty: 1}, inventory.KitPart{Kit: kit, Item: "oring-valve", Qty: 1})
		}
	}
}
