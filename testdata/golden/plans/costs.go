package plans

import (
	"time"

	"circlip/inventory"
	"circlip/inventory/cost"
)

// Costs is the account of the bike park's first winter: five items, of which one
// was never priced, two suppliers and a delivery of no order, jobs of one and of
// two services, and some of every loss.
func Costs() cost.Account {
	shop := inventory.Shop{
		AsOf:      AsOf,
		Settings:  inventory.Settings{Workshop: "Larchfell Bike Park", Currency: euro},
		Items:     []inventory.Item{grease, lowerOil, ring, seal, wiper},
		Offers:    []inventory.Offer{{Item: seal.Code, Supplier: "quillon", FromPacks: 1, PackQty: 2, Price: 1980}},
		Suppliers: []inventory.Supplier{{Code: "quillon", Name: "Quillon Seals"}, {Code: "tarn", Name: "Tarn Works"}},
		Models:    []inventory.Model{{Code: "Torrent 35", Family: "fork"}},
		Services: []inventory.Service{
			{Code: "fork-lower", Name: "Lower legs", Family: "fork"}, {Code: "fork-seals", Name: "Seals and wipers", Family: "fork"},
		},
		BOM: []inventory.BOMLine{
			{Service: "fork-lower", Model: inventory.AnyModel, Item: grease.Code, Qty: 30, Need: 1},
			{Service: "fork-lower", Model: inventory.AnyModel, Item: lowerOil.Code, Qty: 300, Need: 1},
			{Service: "fork-seals", Model: inventory.AnyModel, Item: grease.Code, Qty: 60, Need: 1},
			{Service: "fork-seals", Model: inventory.AnyModel, Item: wiper.Code, Qty: 2, Need: 1},
		},
		Jobs: []inventory.Job{
			winterJob("L-101", time.December, 3, "fork-lower"), winterJob("L-102", time.December, 17, "fork-lower", "fork-seals"),
			winterJob("L-103", time.January, 8, "fork-seals"), winterJob("L-104", time.February, 2, "fork-lower"),
			winterJob("L-105", time.February, 9, "fork-lower"),
		},
	}
	account, err := cost.Of(shop, winterLedger())
	if err != nil {
		panic(err) // it is made by hand, above and below
	}
	return account
}

// winter is a day of the winter of 2026 to 2027.
func winter(month time.Month, day int) inventory.Date {
	if month > time.June {
		return inventory.NewDate(2026, month, day)
	}
	return inventory.NewDate(2027, month, day)
}

func winterJob(code string, month time.Month, day int, services ...string) inventory.Job {
	on := winter(month, day)
	return inventory.Job{Code: code, Model: "Torrent 35", Services: services, BenchDate: on, DoneOn: on, State: inventory.Done}
}

// winterLedger is lots and their movements; job L-105 took nothing that was
// written down, and L-999 is in no book.
func winterLedger() cost.Records {
	var r cost.Records
	lot := func(item inventory.Item, code string, cost inventory.UnitCost, expires inventory.Date, moves ...cost.Move) {
		l := inventory.Lot{Item: item.Code, Code: code, UnitCost: cost, Expires: expires}
		for _, m := range moves {
			m.Item, m.Lot = item.Code, code
			l.OnHand += m.Qty
			r.Moves = append(r.Moves, m)
		}
		r.Lots = append(r.Lots, l)
	}
	move := func(month time.Month, day int, place inventory.Place, ref string, qty inventory.Quantity) cost.Move {
		return cost.Move{On: winter(month, day), Place: place, Ref: ref, Qty: qty}
	}
	came := func(month time.Month, day int, supplier string, qty inventory.Quantity) cost.Move {
		return cost.Move{On: winter(month, day), Place: inventory.FromOrder, Ref: "PO", Supplier: supplier, Qty: qty}
	}
	lot(grease, "G1", 39_000, 0, move(time.November, 2, inventory.FromStart, "stock", 5000),
		move(time.December, 3, inventory.AtJob, "L-101", -31), move(time.December, 17, inventory.AtJob, "L-102", -95), move(time.January, 8, inventory.AtJob, "L-103", -60))
	lot(lowerOil, "O1", 18_400, winter(time.February, 1), move(time.November, 2, inventory.FromStart, "stock", 10_000),
		move(time.December, 3, inventory.AtJob, "L-101", -305), move(time.December, 17, inventory.AtJob, "L-102", -300), move(time.January, 31, inventory.Difference, "count", -45))
	lot(lowerOil, "O2", 19_200, 0, came(time.January, 21, "tarn", 10_000), move(time.February, 2, inventory.AtJob, "L-104", -310))
	lot(ring, "R1", 0, 0, move(time.November, 2, inventory.FromStart, "stock", 40))
	lot(seal, "S1", 0, 0, move(time.November, 2, inventory.FromStart, "stock", 4), move(time.February, 3, inventory.AtJob, "L-999", -2))
	lot(wiper, "W1", 4_100_000, 0, move(time.November, 2, inventory.FromStart, "stock", 3), move(time.December, 17, inventory.AtJob, "L-102", -2),
		move(time.January, 4, inventory.Wasted, "torn", -1))
	lot(wiper, "W2", 4_250_000, 0, came(time.January, 5, "quillon", 10), move(time.January, 8, inventory.AtJob, "L-103", -2),
		move(time.January, 31, inventory.Difference, "count", 1), came(time.February, 10, "quillon", -4))
	lot(wiper, "W3", 4_633_333, 0, came(time.February, 22, "", 3))
	return r
}
