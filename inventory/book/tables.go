package book

import (
	"slices"

	"circlip/inventory"
)

// Kind says what a column's cells hold and which Go type a Record has for it.
type Kind int

// The kinds of columns, with the types of their values.
const (
	Text     Kind = iota // string; line ends become LF
	Code                 // string: at most 64 printing characters without ;
	Codes                // []string: several codes with ; between them
	Integer              // int64
	Decimal              // float64
	YesNo                // bool
	Date                 // inventory.Date; 0 when blank
	CureMark             // string: a date, or a quarter such as 3Q24
	Clock                // string HH:MM
	Weekday              // string mon to sun
	Choice               // string, one of Column.OneOf
	Quantity             // inventory.Quantity in the measure of the row's item
	Money                // inventory.Money
	UnitCost             // inventory.UnitCost
	GTIN                 // string of 8, 12, 13 or 14 digits
	Material             // string: a code of ISO 1629, or of a plastic
	Currency             // string: a code of ISO 4217
	TimeZone             // string: a name of the IANA time zone database
)

// Column is one column of a table. A blank cell means Default, or the row's
// value of the column SameAs; where there is neither, it is nil in a Record
// unless the column is a Key: a blank key is "" or 0. Rule bounds the number
// in the validator's words (gte, gt, lte); Bounds reads it. Refers names the
// table whose code the cell holds.
type Column struct {
	Name, Help    string
	Kind          Kind
	Key, Required bool
	Default       string
	SameAs        string
	Rule          string
	OneOf         []string
	Refers        string
}

// Table is one table of the book, with its columns in their usual order.
type Table struct {
	Name, Help string
	Columns    []Column
}

// TableOf finds a table by name.
func TableOf(name string) (Table, bool) {
	i := slices.IndexFunc(Tables, func(t Table) bool { return t.Name == name })
	if i < 0 {
		return Table{}, false
	}
	return Tables[i], true
}

var weekdays = []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}

// names is the texts of constants.
func names[T ~string](values []T) []string {
	texts := make([]string, len(values))
	for i, v := range values {
		texts[i] = string(v)
	}
	return texts
}

// Tables lists the book's tables, each after those it refers to.
var Tables = []Table{
	{"settings", "The workshop's own choices, one a row.", []Column{
		{Name: "key", Kind: Code, Key: true, Required: true, Help: "Name of the setting."},
		{Name: "value", Kind: Text, Help: "Its value; blank means the default."},
	}},
	{"suppliers", "Who delivers, and in what rhythm.", []Column{
		{Name: "supplier", Kind: Code, Key: true, Required: true, Help: "Short code of the supplier."},
		{Name: "name", Kind: Text, SameAs: "supplier", Help: "Full name; blank means the code."},
		{Name: "order_weekday", Kind: Weekday, OneOf: weekdays, Help: "Day of the week to order on; blank means the workshop's."},
		{Name: "cutoff", Kind: Clock, Help: "Latest time of that day, HH:MM, for an order to count."},
		{Name: "lead_days", Kind: Integer, Rule: "gte=0,lte=3650", Help: "Days from order to delivery."},
		{Name: "min_order", Kind: Money, Help: "Least value of goods of one order."},
		{Name: "carriage", Kind: Money, Help: "Carriage of one order."},
		{Name: "carriage_free_from", Kind: Money, Help: "Value of goods from which carriage is free."},
	}},
	{"holidays", "Days on which nobody takes orders or delivers.", []Column{
		{Name: "date", Kind: Date, Key: true, Required: true, Help: "The day."},
		{Name: "supplier", Kind: Code, Key: true, Refers: "suppliers", Help: "Supplier who is closed; blank means the workshop itself."},
		{Name: "name", Kind: Text, Help: "What is kept on it."},
	}},
	{"items", "What is kept on the shelf.", []Column{
		{Name: "item", Kind: Code, Key: true, Required: true, Help: "Short code of the item."},
		{Name: "name", Kind: Text, SameAs: "item", Help: "What people call it; blank means the code."},
		{Name: "kind", Kind: Choice, Required: true, OneOf: names(inventory.Kinds), Help: "What sort of thing it is."},
		{Name: "unit", Kind: Choice, Required: true, OneOf: []string{string(inventory.Each), string(inventory.Millilitre), string(inventory.Gram)}, Help: "What its quantities count: ea (pieces), ml or g."},
		{Name: "material", Kind: Material, Help: "Code of ISO 1629, such as NBR or FKM."},
		{Name: "shelf_months", Kind: Integer, Rule: "gte=1,lte=1200", Help: "Months it keeps from receipt; blank means as its material says."},
		{Name: "critical", Kind: YesNo, Default: "yes", Help: "Whether a job waits for it."},
		{Name: "inside_mm", Kind: Decimal, Rule: "gt=0,lte=10000", Help: "Inside diameter in mm."},
		{Name: "section_mm", Kind: Decimal, Rule: "gt=0,lte=1000", Help: "Section in mm."},
		{Name: "hardness", Kind: Decimal, Rule: "gt=0,lte=100", Help: "Hardness, Shore A or IRHD."},
		{Name: "density_kg_m3", Kind: Decimal, Rule: "gt=0,lte=25000", Help: "Density at 15 °C in kg/m³."},
		{Name: "viscosity_40c", Kind: Decimal, Rule: "gt=0,lte=1000000", Help: "Viscosity at 40 °C in mm²/s."},
		{Name: "flash_point_c", Kind: Decimal, Rule: "gte=-100,lte=1000", Help: "Flash point in °C."},
		{Name: "bin", Kind: Text, Help: "Where it lies."},
		{Name: "gtin", Kind: GTIN, Help: "The number under its bar code."},
		{Name: "opened_months", Kind: Integer, Rule: "gte=1,lte=1200", Help: "Months a container keeps once opened; blank means as long as one that is not."},
	}},
	{"offers", "What suppliers ask for packs; several rows with rising from_packs are price breaks.", []Column{
		{Name: "item", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item offered."},
		{Name: "supplier", Kind: Code, Key: true, Required: true, Refers: "suppliers", Help: "Supplier who offers it."},
		{Name: "from_packs", Kind: Integer, Key: true, Default: "1", Rule: "gte=1,lte=1000000", Help: "Packs from which this price holds."},
		{Name: "supplier_code", Kind: Text, Help: "The supplier's own code for it."},
		{Name: "pack_qty", Kind: Quantity, Required: true, Rule: "gt=0", Help: "What one pack holds, in the item's unit."},
		{Name: "min_packs", Kind: Integer, Default: "1", Rule: "gte=1,lte=1000000", Help: "Least number of packs of one order."},
		{Name: "multiple", Kind: Integer, Default: "1", Rule: "gte=1,lte=1000000", Help: "Packs come in multiples of this."},
		{Name: "price", Kind: Money, Required: true, Help: "Price of one pack."},
		{Name: "lead_days", Kind: Integer, Rule: "gte=0,lte=3650", Help: "Days to delivery; blank means the supplier's."},
	}},
	{"kits", "What an item sold as a kit holds.", []Column{
		{Name: "kit", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item that is a kit."},
		{Name: "item", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item in it."},
		{Name: "qty", Kind: Quantity, Required: true, Rule: "gt=0", Help: "How much of it one kit holds."},
	}},
	{"alternates", "Which item may stand in for which; one way.", []Column{
		{Name: "item", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item that may lack."},
		{Name: "alternate", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item that may stand in for it."},
		{Name: "rank", Kind: Integer, Default: "1", Rule: "gte=1,lte=1000", Help: "1 is tried first."},
		{Name: "note", Kind: Text, Help: "What to mind."},
	}},
	{"grooves", "Where O-rings sit: a groove on a piston in a bore.", []Column{
		{Name: "item", Kind: Code, Key: true, Required: true, Refers: "items", Help: "O-ring that sits there."},
		{Name: "root_mm", Kind: Decimal, Required: true, Rule: "gt=0,lte=10000", Help: "Diameter of the groove's floor in mm."},
		{Name: "bore_mm", Kind: Decimal, Required: true, Rule: "gt=0,lte=10000", Help: "Diameter of the bore around it in mm."},
		{Name: "width_mm", Kind: Decimal, Required: true, Rule: "gt=0,lte=1000", Help: "Width of the groove in mm."},
	}},
	{"containers", "Containers whose empty weight is known.", []Column{
		{Name: "container", Kind: Code, Key: true, Required: true, Help: "Short code of the container, as written on it."},
		{Name: "name", Kind: Text, SameAs: "container", Help: "What people call it; blank means the code."},
		{Name: "item", Kind: Code, Refers: "items", Help: "Item it is for; blank means anything."},
		{Name: "tare_g", Kind: Decimal, Required: true, Rule: "gte=0,lte=10000000", Help: "Its weight when empty in g."},
		{Name: "volume_ml", Kind: Decimal, Rule: "gt=0,lte=10000000", Help: "What it holds when full in ml."},
	}},
	{"models", "Makes of fork, shock and dropper.", []Column{
		{Name: "model", Kind: Code, Key: true, Required: true, Help: "Short code of the model."},
		{Name: "name", Kind: Text, SameAs: "model", Help: "What people call it; blank means the code."},
		{Name: "family", Kind: Code, Required: true, Help: "Family whose services it takes."},
	}},
	{"services", "What is done to a family, and how often.", []Column{
		{Name: "service", Kind: Code, Key: true, Required: true, Help: "Short code of the service."},
		{Name: "name", Kind: Text, SameAs: "service", Help: "What people call it; blank means the code."},
		{Name: "family", Kind: Code, Required: true, Help: "Family of models it is for."},
		{Name: "every_hours", Kind: Decimal, Rule: "gt=0,lte=100000", Help: "Hours ridden between two of them."},
		{Name: "every_months", Kind: Integer, Rule: "gte=1,lte=1200", Help: "Months between two of them at most."},
		{Name: "covers", Kind: Codes, Refers: "services", Help: "Other services it includes, with ; between them."},
		{Name: "bench_minutes", Kind: Integer, Rule: "gte=0,lte=100000", Help: "Minutes at the bench."},
	}},
	{"bom", "Bill of materials: what a service takes.", []Column{
		{Name: "service", Kind: Code, Key: true, Required: true, Refers: "services", Help: "Service."},
		{Name: "model", Kind: Code, Key: true, Required: true, Refers: "models", Help: "Model, or * for every model of the family."},
		{Name: "item", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item taken."},
		{Name: "from", Kind: Date, Key: true, Help: "First day the line holds; blank means always."},
		{Name: "qty", Kind: Quantity, Required: true, Rule: "gt=0", Help: "How much one job takes."},
		{Name: "need", Kind: Decimal, Default: "1", Rule: "gte=0,lte=1", Help: "Share of jobs that take it, 0 to 1."},
		{Name: "waste", Kind: Decimal, Default: "0", Rule: "gte=0,lte=10", Help: "Extra share that is lost; 0.05 is 5 %."},
		{Name: "to", Kind: Date, Help: "First day the line no longer holds; blank means never."},
		{Name: "note", Kind: Text, Help: "Why it is so much."},
	}},
	{"units", "Forks, shocks and droppers by serial.", []Column{
		{Name: "unit", Kind: Code, Key: true, Required: true, Help: "Serial or own code."},
		{Name: "model", Kind: Code, Required: true, Refers: "models", Help: "Its model."},
		{Name: "holder", Kind: Choice, Required: true, OneOf: []string{string(inventory.Fleet), string(inventory.Customer)}, Help: "fleet (our own) or customer."},
		{Name: "group", Kind: Text, Help: "Units that are ridden alike."},
		{Name: "hours_per_week", Kind: Decimal, Rule: "gte=0,lte=168", Help: "Hours ridden a week, if known."},
		{Name: "in_service", Kind: Date, Help: "First day ridden."},
		{Name: "retired", Kind: Date, Help: "Last day with us."},
	}},
	{"readings", "What hour meters showed.", []Column{
		{Name: "unit", Kind: Code, Key: true, Required: true, Refers: "units", Help: "Unit read."},
		{Name: "date", Kind: Date, Key: true, Required: true, Help: "Day of the reading."},
		{Name: "hours", Kind: Decimal, Required: true, Rule: "gte=0,lte=1000000", Help: "Hours on the meter."},
		{Name: "reset", Kind: YesNo, Default: "no", Help: "yes where the meter was replaced and counts from zero."},
	}},
	{"season", "How much is ridden in each week of a year.", []Column{
		{Name: "week", Kind: Integer, Key: true, Required: true, Rule: "gte=1,lte=53", Help: "ISO week, 1 to 53."},
		{Name: "factor", Kind: Decimal, Required: true, Rule: "gte=0,lte=100", Help: "1 is an average week."},
	}},
	{"jobs", "Services booked and done.", []Column{
		{Name: "job", Kind: Code, Key: true, Required: true, Help: "Number of the job."},
		{Name: "unit", Kind: Code, Refers: "units", Help: "Unit; blank where it is none we know."},
		{Name: "model", Kind: Code, Refers: "models", Help: "Model; blank means the unit's."},
		{Name: "service", Kind: Codes, Required: true, Refers: "services", Help: "One service, or several with ; between them."},
		{Name: "booked_on", Kind: Date, Help: "Day it was booked."},
		{Name: "bench_date", Kind: Date, Required: true, Help: "Day it is on the bench."},
		{Name: "state", Kind: Choice, Default: string(inventory.Booked), OneOf: []string{string(inventory.Booked), string(inventory.Done), string(inventory.Cancelled), string(inventory.NoShow)}, Help: "booked, done, cancelled or no-show."},
		{Name: "done_on", Kind: Date, Help: "Day it was done."},
		{Name: "cancelled_on", Kind: Date, Help: "Day it was cancelled, or did not turn up."},
		{Name: "done_by", Kind: Text, Help: "Who did it at the bench."},
	}},
	{"setups", "How units were set when they came to a job and when they left.", []Column{
		{Name: "job", Kind: Code, Key: true, Required: true, Refers: "jobs", Help: "Number of the job."},
		{Name: "moment", Kind: Choice, Key: true, Required: true, OneOf: []string{"before", "after"}, Help: "before (as it came) or after (as it left)."},
		{Name: "unit", Kind: Code, Refers: "units", Help: "Unit; blank means the job's."},
		{Name: "date", Kind: Date, Required: true, Help: "Day on which it was looked at."},
		{Name: "air_bar", Kind: Decimal, Rule: "gte=0,lte=1000", Help: "Air pressure in bar."},
		{Name: "rebound_clicks", Kind: Integer, Rule: "gte=0,lte=1000", Help: "Rebound, in clicks from closed."},
		{Name: "compression", Kind: Text, Help: "Position of the compression lever, or its clicks."},
		{Name: "volume_spacers", Kind: Integer, Rule: "gte=0,lte=1000", Help: "Number of volume spacers."},
		{Name: "note", Kind: Text, Help: "Whatever else the rider wants back."},
	}},
	{"job_use", "What jobs really took.", []Column{
		{Name: "job", Kind: Code, Key: true, Required: true, Refers: "jobs", Help: "Number of the job."},
		{Name: "item", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item used."},
		{Name: "lot", Kind: Code, Key: true, Help: "Lot used; blank means whichever expires first."},
		{Name: "qty", Kind: Quantity, Required: true, Rule: "gt=0", Help: "How much."},
	}},
	{"stock", "The opening shelf.", []Column{
		{Name: "item", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item."},
		{Name: "lot", Kind: Code, Key: true, Required: true, Help: "Delivery it came with."},
		{Name: "qty", Kind: Quantity, Required: true, Help: "How much was there."},
		{Name: "counted_on", Kind: Date, Required: true, Help: "Day it was counted."},
		{Name: "cure_date", Kind: CureMark, Help: "Day or quarter of cure: 2024-08-15 or 3Q24."},
		{Name: "expires_on", Kind: Date, Help: "First day it may no longer be used."},
		{Name: "unit_cost", Kind: UnitCost, Help: "What one piece, ml or g cost."},
	}},
	{"orders", "What was ordered and what came.", []Column{
		{Name: "order", Kind: Code, Key: true, Required: true, Help: "Number of the order."},
		{Name: "item", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item ordered."},
		{Name: "supplier", Kind: Code, Required: true, Refers: "suppliers", Help: "From whom."},
		{Name: "packs", Kind: Integer, Required: true, Rule: "gte=1,lte=1000000", Help: "Packs ordered."},
		{Name: "placed_on", Kind: Date, Required: true, Help: "Day of the order."},
		{Name: "due_on", Kind: Date, Help: "Day it should come."},
		{Name: "received_on", Kind: Date, Help: "Day it came."},
		{Name: "received_packs", Kind: Integer, Rule: "gte=0,lte=1000000", Help: "Packs that came; blank with a day of receipt means all."},
		{Name: "closed_on", Kind: Date, Help: "Day on which the rest was given up; blank while it may still come."},
		{Name: "pack_qty", Kind: Quantity, Rule: "gt=0", Help: "What one pack holds; blank means as its offer says when it is first loaded."},
		{Name: "price", Kind: Money, Help: "Price of one pack; blank means that of its offer when it is first loaded."},
		{Name: "sheet", Kind: Code, Help: "Sheet it was placed by, the same in all rows of the order; blank means written by hand."},
	}},
	{"counts", "What was found of an item, counted or weighed.", []Column{
		{Name: "item", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item counted."},
		{Name: "date", Kind: Date, Key: true, Required: true, Help: "Day of the count."},
		{Name: "qty", Kind: Quantity, Help: "How much was there; blank where it was weighed, or is the sum of the count's parts."},
		{Name: "gross_g", Kind: Decimal, Rule: "gte=0,lte=10000000", Help: "Weight with its container in g."},
		{Name: "tare_g", Kind: Decimal, Rule: "gte=0,lte=10000000", Help: "Weight of the empty container in g."},
		{Name: "temp_c", Kind: Decimal, Rule: "gte=-50,lte=100", Help: "Temperature of the fluid in °C; blank means 15."},
	}},
	{"count_parts", "The containers that counts were made of, each measured or weighed.", []Column{
		{Name: "item", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item counted."},
		{Name: "date", Kind: Date, Key: true, Required: true, Help: "Day of the count, which has a row in counts."},
		{Name: "number", Kind: Integer, Key: true, Required: true, Rule: "gte=1,lte=1000000", Help: "1, 2, 3 and so on in each count."},
		{Name: "container", Kind: Code, Refers: "containers", Help: "Container; blank where it is none that is known."},
		{Name: "qty", Kind: Quantity, Help: "How much was in it; blank where it was weighed."},
		{Name: "gross_g", Kind: Decimal, Rule: "gte=0,lte=10000000", Help: "Weight with the container in g."},
		{Name: "tare_g", Kind: Decimal, Rule: "gte=0,lte=10000000", Help: "Weight of the empty container in g; blank means as the container says when it is first loaded."},
		{Name: "temp_c", Kind: Decimal, Rule: "gte=-50,lte=100", Help: "Temperature of the fluid in °C; blank means 15."},
		{Name: "opened_on", Kind: Date, Help: "Day it was opened; blank where it is not, or nobody knows."},
	}},
	{"disposals", "Used fluids that were gathered, or handed over to a carrier.", []Column{
		{Name: "date", Kind: Date, Key: true, Required: true, Help: "The day."},
		{Name: "number", Kind: Integer, Key: true, Required: true, Rule: "gte=1,lte=1000000", Help: "1, 2, 3 and so on of each day."},
		{Name: "stream", Kind: Choice, Required: true, OneOf: names(inventory.Streams), Help: "What it is: oil, grease or solvent."},
		{Name: "moment", Kind: Choice, Required: true, OneOf: []string{"gathered", "handed-over"}, Help: "gathered (in the workshop) or handed-over (to a carrier)."},
		{Name: "volume_ml", Kind: Decimal, Rule: "gt=0,lte=1000000000", Help: "How much in ml."},
		{Name: "weight_g", Kind: Decimal, Rule: "gt=0,lte=1000000000", Help: "How much in g, without its container."},
		{Name: "carrier", Kind: Text, Help: "Who took it."},
		{Name: "document", Kind: Text, Help: "Number of the carrier's paper."},
		{Name: "note", Kind: Text, Help: "What else to know of it."},
	}},
	{"moves", "What was done to the shelf by hand, as book save wrote it; nothing to fill in.", []Column{
		{Name: "item", Kind: Code, Key: true, Required: true, Refers: "items", Help: "Item moved."},
		{Name: "lot", Kind: Code, Key: true, Help: "Its lot; blank where a count found what was there."},
		{Name: "number", Kind: Integer, Key: true, Required: true, Rule: "gte=1,lte=1000000000", Help: "1, 2, 3 and so on in each lot."},
		{Name: "act", Kind: Code, Help: "Key of what was done."},
		{Name: "from", Kind: Choice, Required: true, OneOf: names(inventory.Places), Help: "Where it came from; shelf is our own."},
		{Name: "to", Kind: Choice, Required: true, OneOf: names(inventory.Places), Help: "Where it went."},
		{Name: "reverses", Kind: Integer, Rule: "gte=1,lte=1000000000", Help: "Number of the row of the lot that this one corrects."},
		{Name: "ref", Kind: Text, Help: "Job, order or count it belongs to."},
		{Name: "qty", Kind: Quantity, Required: true, Help: "How much; 0 where a count found what was there."},
		{Name: "date", Kind: Date, Required: true, Help: "Day on which it happened."},
		{Name: "received", Kind: Date, Help: "Day on which the lot came."},
		{Name: "expires_on", Kind: Date, Help: "First day the lot may no longer be used."},
		{Name: "unit_cost", Kind: UnitCost, Help: "What one piece, ml or g of the lot cost."},
		{Name: "packs", Kind: Integer, Rule: "gte=1,lte=1000000", Help: "Packs of its order that it brought."},
		{Name: "inspected_by", Kind: Text, Help: "Who inspected the lot that goes on here."},
		{Name: "note", Kind: Text, Help: "What was found."},
	}},
}
