package invented

import (
	"strings"
	"time"

	"circlip/inventory"
)

const (
	fork    = "fork"
	shock   = "shock"
	dropper = "dropper"
)

// models in the order in which a workshop takes them on.
var models = []inventory.Model{
	{Code: "fork-trail-140", Name: "Trail fork 140", Family: fork},
	{Code: "shock-trail-210", Name: "Trail shock 210", Family: shock},
	{Code: "dropper-170", Name: "Dropper post 170", Family: dropper},
	{Code: "fork-enduro-170", Name: "Enduro fork 170", Family: fork},
	{Code: "shock-enduro-230", Name: "Enduro shock 230", Family: shock},
	{Code: "dropper-200", Name: "Dropper post 200", Family: dropper},
	{Code: "fork-light-120", Name: "Light fork 120", Family: fork},
}

// services of a family, narrow to wide: each that has an interval covers those
// before it. Those without one are never due.
var services = []inventory.Service{
	{Code: "dropper-clean", Name: "Clean and grease", Family: dropper, EveryMonths: 6, BenchMinutes: 30},
	{Code: "dropper-full", Name: "Dropper full service", Family: dropper, EveryHours: 300, EveryMonths: 18, Covers: []string{"dropper-clean"}, BenchMinutes: 75},
	{Code: "fork-crash", Name: "Crash repair", Family: fork, BenchMinutes: 120},
	{Code: "fork-lower", Name: "Lower legs", Family: fork, EveryHours: 50, BenchMinutes: 50},
	{Code: "fork-spring", Name: "Air spring with lower legs", Family: fork, EveryHours: 100, Covers: []string{"fork-lower"}, BenchMinutes: 80},
	{Code: "fork-full", Name: "Damper, air spring, lower legs", Family: fork, EveryHours: 200, Covers: []string{"fork-lower", "fork-spring"}, BenchMinutes: 150},
	{Code: "shock-can", Name: "Air can", Family: shock, EveryHours: 60, BenchMinutes: 40},
	{Code: "shock-full", Name: "Damper with air can", Family: shock, EveryHours: 180, Covers: []string{"shock-can"}, BenchMinutes: 120},
}

// good is an item as it is offered: packs hold so many pieces, ml or g.
type good struct {
	code     string
	kind     inventory.Kind
	measure  inventory.Measure
	pack     int
	price    inventory.Money
	supplier string
}

const (
	seals  = "brindle"
	trade  = "cobbet"
	fluids = "dunmere"
)

// shared goods fit every model, own ones one model of the family: % stands for
// the model.
var (
	shared = []good{
		{"oil-lower", inventory.Oil, inventory.Millilitre, 1000, 18_40, fluids},
		{"oil-damper-light", inventory.Oil, inventory.Millilitre, 1000, 22_90, fluids},
		{"oil-shock", inventory.Oil, inventory.Millilitre, 500, 14_80, fluids},
		{"oil-can", inventory.Oil, inventory.Millilitre, 500, 12_60, fluids},
		{"grease-seal", inventory.Grease, inventory.Gram, 500, 19_90, fluids},
		{"grease-post", inventory.Grease, inventory.Gram, 100, 9_80, fluids},
		{"solvent", inventory.Solvent, inventory.Millilitre, 5000, 24_00, fluids},
		{"oring-foot", inventory.ORing, inventory.Each, 10, 3_20, seals},
		{"oring-cap", inventory.ORing, inventory.Each, 10, 4_10, seals},
		{"oring-valve", inventory.ORing, inventory.Each, 10, 2_40, seals},
		{"washer-crush", inventory.Hardware, inventory.Each, 20, 5_60, trade},
		{"valve-core", inventory.Hardware, inventory.Each, 5, 6_25, trade},
		{"foot-bolt", inventory.Hardware, inventory.Each, 2, 7_40, trade},
		{"eyelet-hardware", inventory.Hardware, inventory.Each, 1, 21_50, trade},
		{"volume-spacer", inventory.Spacer, inventory.Each, 3, 8_90, trade},
		{"cable-end", inventory.Other, inventory.Each, 10, 85, trade},
	}
	own = map[string][]good{
		fork: {
			{"%-wiper", inventory.Wiper, inventory.Each, 2, 23_80, seals},
			{"%-foam", inventory.Other, inventory.Each, 2, 4_90, seals},
			{"%-piston-seal", inventory.Seal, inventory.Each, 1, 6_70, seals},
			{"%-glide", inventory.GlideRing, inventory.Each, 2, 11_20, seals},
			{"%-damper-kit", inventory.Kit, inventory.Each, 1, 34_50, trade},
			{"%-bushing", inventory.Bushing, inventory.Each, 2, 27_00, trade},
			{"%-air-shaft", inventory.Other, inventory.Each, 1, 60_00, trade},
		},
		shock: {
			{"%-can-seal", inventory.Seal, inventory.Each, 1, 16_40, seals},
			{"%-glide", inventory.GlideRing, inventory.Each, 1, 7_90, seals},
			{"%-backup", inventory.BackupRing, inventory.Each, 2, 5_30, seals},
			{"%-damper-kit", inventory.Kit, inventory.Each, 1, 39_00, trade},
			{"%-shaft-seal", inventory.Seal, inventory.Each, 1, 9_60, seals},
		},
		dropper: {
			{"%-wiper", inventory.Wiper, inventory.Each, 1, 8_20, seals},
			{"%-keys", inventory.GlideRing, inventory.Each, 6, 9_40, seals},
			{"%-cartridge", inventory.Other, inventory.Each, 1, 52_00, trade},
		},
	}
)

// line is one of a service's: qty in pieces, ml or g.
type line struct {
	item        string
	qty         float64
	need, waste float64
}

var (
	lowerLines = []line{
		{"oil-lower", 20, 1, .05}, {"grease-seal", 4, 1, 0}, {"solvent", 40, 1, 0}, {"%-wiper", 2, 1, .02}, {"%-foam", 2, 1, 0},
		{"washer-crush", 2, 1, .03}, {"oring-foot", 2, .6, 0}, {"foot-bolt", 1, .1, 0}, {"%-bushing", 2, .1, 0},
	}
	springLines = []line{
		{"%-piston-seal", 1, 1, .02}, {"oring-cap", 2, 1, 0}, {"%-glide", 2, .5, 0}, {"valve-core", 1, .15, 0}, {"volume-spacer", 1, .12, 0},
	}
	canLines = []line{
		{"%-can-seal", 1, 1, .02}, {"%-glide", 1, .7, 0}, {"%-backup", 2, .4, 0}, {"oil-can", 5, 1, .1}, {"grease-seal", 3, 1, 0},
		{"oring-valve", 1, .5, 0}, {"%-shaft-seal", 1, .15, 0}, {"eyelet-hardware", 1, .2, 0}, {"volume-spacer", 1, .1, 0},
	}
	cleanLines = []line{{"grease-post", 6, 1, 0}, {"%-wiper", 1, .5, 0}, {"cable-end", 1, .8, 0}, {"solvent", 30, 1, 0}}
)

// bills are what the services take.
var bills = map[string][]line{
	"dropper-clean": cleanLines,
	"dropper-full":  append([]line{{"%-keys", 6, .7, 0}, {"%-cartridge", 1, .15, 0}}, cleanLines...),
	"fork-crash":    {{"oil-lower", 20, 1, .05}, {"%-bushing", 2, .5, 0}, {"%-wiper", 2, .8, 0}, {"%-air-shaft", 1, .3, 0}, {"foot-bolt", 2, .4, 0}, {"grease-seal", 4, 1, 0}},
	"fork-lower":    lowerLines,
	"fork-spring":   append(springLines, lowerLines...),
	"fork-full":     append(append([]line{{"oil-damper-light", 160, 1, .12}, {"%-damper-kit", 1, 1, 0}}, springLines...), lowerLines...),
	"shock-can":     canLines,
	"shock-full":    append([]line{{"oil-shock", 90, 1, .15}, {"%-damper-kit", 1, 1, 0}}, canLines...),
}

func suppliers() []inventory.Supplier {
	return []inventory.Supplier{
		{Code: seals, Name: "Brindle Seals (invented)", OrderWeekday: time.Monday, LeadDays: 4, Carriage: 6_90, CarriageFreeFrom: 120_00, HasFreeCarriage: true},
		{Code: trade, Name: "Cobbet Trade Parts (invented)", OrderWeekday: time.Monday, LeadDays: 7, MinOrder: 40_00, Carriage: 9_50, CarriageFreeFrom: 180_00, HasFreeCarriage: true},
		{Code: fluids, Name: "Dunmere Lubricants (invented)", OrderWeekday: time.Wednesday, LeadDays: 5, Carriage: 12_00, CarriageFreeFrom: 150_00, HasFreeCarriage: true},
	}
}

// ofModel puts the model's code for the %.
func ofModel(code string, m inventory.Model) string { return strings.Replace(code, "%", m.Code, 1) }
