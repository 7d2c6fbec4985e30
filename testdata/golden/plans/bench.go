package plans

import "circlip/inventory"

// Bench is a shop on a Monday with four jobs on the bench and one the day after:
// one overdue, one whose kit is complete, one that waits for a delivery of the
// day and opens a kit, one that is short and takes an alternate.
func Bench() inventory.Shop {
	solvent := inventory.Item{Code: "SOLV-1", Name: "Degreasing solvent", Kind: inventory.Solvent, Measure: inventory.Millilitre, Critical: true, Bin: "S1"}
	bushing := inventory.Item{Code: "BUSH-35", Name: "Bushing 35 mm", Kind: inventory.Bushing, Measure: inventory.Each, Critical: true, Bin: "B10"}
	in := func(i inventory.Item, bin string) inventory.Item { i.Bin = bin; return i }
	return inventory.Shop{
		AsOf:     AsOf,
		Settings: inventory.Settings{Workshop: "Larchfell Bike Park", Currency: euro, Readiness: 0.97},
		Items: []inventory.Item{
			in(dampOil, "A10"), in(foam, "B2"), in(grease, "A2"), in(airKit, "C1"), in(lowerOil, "A2"),
			in(ring, ""), in(seal, "B1"), bushing, solvent, in(spacer, "B3"), in(wiper, "B1"),
		},
		Models:     []inventory.Model{{Code: "fell-150", Name: "Brackwater Fell 150", Family: "fork"}, {Code: "ember", Name: "Ninefold Ember", Family: "shock"}},
		Services:   benchServices(),
		BOM:        benchBill(),
		Kits:       []inventory.KitPart{{Kit: airKit.Code, Item: ring.Code, Qty: 2}, {Kit: airKit.Code, Item: seal.Code, Qty: 1}},
		Alternates: []inventory.Alternate{{Item: dampOil.Code, Alternate: lowerOil.Code, Rank: 1}},
		Units: []inventory.Unit{
			{Code: "rental-12-fork", Model: "fell-150", Readings: []inventory.Reading{{Date: AsOf - 40, Hours: 131.5}, {Date: AsOf - 9, Hours: 182.3}}},
			{Code: "race-3-shock", Model: "ember"},
		},
		Jobs:   benchJobs(),
		Setups: benchSetups(),
		Lots:   benchLots(),
		Orders: []inventory.OrderLine{
			{Order: "PO-31", Item: foam.Code, Packs: 1, PackQty: 4, PlacedOn: AsOf - 5, DueOn: AsOf},
			{Order: "PO-32", Item: bushing.Code, Packs: 1, PackQty: 4, PlacedOn: AsOf - 2, DueOn: AsOf + 4},
		},
	}
}

func benchServices() []inventory.Service {
	return []inventory.Service{
		{Code: "fork-full", Name: "Full fork: damper and lower legs", Family: "fork", Covers: []string{"fork-lower"}, BenchMinutes: 150},
		{Code: "fork-lower", Name: "Lower legs: wipers, foam rings, fresh oil", Family: "fork", BenchMinutes: 50},
		{Code: "look-over", Name: "Look over and set up", Family: "fork", BenchMinutes: 20},
		{Code: "shock-can", Name: "Air can", Family: "shock", BenchMinutes: 40},
	}
}

func benchBill() []inventory.BOMLine {
	line := func(service string, item inventory.Item, qty inventory.Quantity, need float64) inventory.BOMLine {
		return inventory.BOMLine{Service: service, Model: inventory.AnyModel, Item: item.Code, Qty: qty, Need: need}
	}
	return []inventory.BOMLine{
		line("fork-full", inventory.Item{Code: "BUSH-35"}, 4, 1), line("fork-full", dampOil, 1855, 1), line("fork-full", foam, 2, 1), line("fork-full", lowerOil, 300, 1), line("fork-full", wiper, 2, 1),
		line("fork-lower", foam, 2, 1), line("fork-lower", lowerOil, 300, 1), line("fork-lower", grease, 32, 1), line("fork-lower", wiper, 2, 1),
		line("fork-lower", seal, 2, 0.35), line("fork-lower", inventory.Item{Code: "SOLV-1"}, 155, 1),
		line("shock-can", ring, 1, 1), line("shock-can", grease, 15, 1), line("shock-can", spacer, 1, 0.01),
	}
}

func benchJobs() []inventory.Job {
	job := func(code, unit, model string, in inventory.Date, services ...string) inventory.Job {
		return inventory.Job{Code: code, Unit: unit, Model: model, Services: services, BookedOn: AsOf - 12, BenchDate: AsOf + in, State: inventory.Booked}
	}
	return []inventory.Job{
		job("J201", "rental-12-fork", "fell-150", -3, "fork-lower"),
		job("J204", "race-3-shock", "ember", 0, "shock-can"),
		job("J205", "", "fell-150", 0, "fork-lower", "look-over"),
		job("J206", "", "fell-150", 0, "fork-full", "fork-lower"),
		job("J209", "", "fell-150", 1, "fork-lower"),
		{Code: "J190", Model: "fell-150", Services: []string{"fork-lower"}, BenchDate: AsOf, State: inventory.Done, DoneOn: AsOf},
	}
}

func benchSetups() []inventory.Setup {
	return []inventory.Setup{
		{Unit: "rental-12-fork", Job: "J150", On: AsOf - 90, AirBar: new(5.1), ReboundClicks: new(9)},
		{Unit: "rental-12-fork", Job: "J150", On: AsOf - 90, After: true, AirBar: new(5.25), ReboundClicks: new(7), Compression: "2 of 3", VolumeSpacers: new(1), Note: "rider wants it lively"},
		{Job: "J205", Unit: "", On: AsOf - 12, AirBar: new(6.0), VolumeSpacers: new(0)},
	}
}

func benchLots() []inventory.Lot {
	lot := func(item inventory.Item, code string, qty inventory.Quantity, months int) inventory.Lot {
		l := inventory.Lot{Item: item.Code, Code: code, Received: AsOf - 60, OnHand: qty}
		if months > 0 {
			l.Expires = AsOf.AddMonths(months)
		}
		return l
	}
	kept := lot(wiper, "W-24", 4, 14)
	kept.SetAside = []inventory.SetAside{{Job: "J205", Qty: 2}}
	return []inventory.Lot{
		lot(foam, "F-1", 3, 0), lot(grease, "G-7", 1000, 0), lot(airKit, "K-3Q26", 1, 40), lot(lowerOil, "O-2", 400, 6), lot(lowerOil, "O-3", 9000, 30),
		lot(seal, "S-OLD", 6, 0), lot(inventory.Item{Code: "SOLV-1"}, "SV-1", 3000, 0), kept, lot(wiper, "W-26", 3, 26),
	}
}
