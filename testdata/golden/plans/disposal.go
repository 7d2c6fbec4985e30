package plans

import (
	"time"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// Disposals is the same bike park with what it gathered of spent fluids and
// handed over.
func Disposals() inventory.Shop {
	some := func(x float64) *float64 { return &x }
	day := func(month time.Month, day int) inventory.Date { return inventory.NewDate(2027, month, day) }
	return inventory.Shop{
		AsOf:     AsOf,
		Settings: inventory.Settings{Workshop: "Larchfell Bike Park", Currency: euro},
		Disposals: []inventory.Disposal{
			{Date: day(time.January, 15), Number: 1, Stream: inventory.UsedOil, VolumeML: some(640), WeightG: some(556.8)},
			{Date: day(time.January, 29), Number: 1, Stream: inventory.UsedOil, VolumeML: some(410), WeightG: some(356.5), Note: "with rinsing from the tray"},
			{Date: day(time.January, 29), Number: 2, Stream: inventory.UsedSolvent, WeightG: some(180)},
			{Date: day(time.February, 12), Number: 1, Stream: inventory.UsedOil, VolumeML: some(505.5), WeightG: some(440)},
			{Date: day(time.February, 24), Number: 1, Stream: inventory.UsedOil, HandedOver: true, VolumeML: some(1500), WeightG: some(1305), Carrier: "Fellside Haulage", Document: "A-2027-0117"},
			{Date: day(time.February, 24), Number: 2, Stream: inventory.UsedSolvent, HandedOver: true, WeightG: some(200), Carrier: "Fellside Haulage", Document: "A-2027-0118", Note: "closed can, 2 l"},
		},
	}
}

// Spent is what such records come to beside what the counts say was drawn.
func Spent() []audit.Spent {
	january, february, march := inventory.NewDate(2027, time.January, 1), inventory.NewDate(2027, time.February, 1), AsOf
	return []audit.Spent{
		{Stream: inventory.UsedOil, From: january, To: february - 1, CountedTo: february - 1, DrawnML: 1240, DrawnG: 1081.3, GatheredML: 1050, GatheredG: 913.3, HeldML: 1050, HeldG: 913.3},
		{Stream: inventory.UsedOil, From: february, To: march - 1, CountedTo: march - 1, DrawnML: 980, DrawnG: 854.6, GatheredML: 505.5, GatheredG: 440, HandedOverML: 1500, HandedOverG: 1305, HeldML: 55.5, HeldG: 48.3},
		{Stream: inventory.UsedOil, From: march, To: march, CountedTo: 0, HeldML: 55.5, HeldG: 48.3},
		{Stream: inventory.UsedSolvent, From: january, To: february - 1, CountedTo: february - 1, DrawnML: 300, DrawnG: 261, GatheredG: 180, HeldG: 180, WithoutML: 1},
		{Stream: inventory.UsedSolvent, From: february, To: march - 1, CountedTo: march - 1, DrawnML: 210, DrawnG: 182.7, HandedOverG: 200, HeldG: -20, WithoutML: 1},
	}
}
