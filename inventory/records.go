package inventory

import "time"

// Settings are one workshop's own choices; see the book's settings table.
type Settings struct {
	Workshop          string
	Currency          Currency
	TimeZone          string // IANA
	Readiness         float64
	HorizonWeeks      int
	OrderWeekday      time.Weekday
	Budget            *Money // nil: no limit
	HoldingRate       float64
	ShowRate          float64
	FleetCapture      float64
	FleetLagWeeks     float64
	CustomerCapture   float64
	CustomerLagWeeks  float64
	UsageSpreadH      float64
	FoldIn            float64
	Learn             bool
	ShelfLifeStandard string
	FlammableLimitL   *float64 // nil: no limit
	BenchHours        *float64 // a working day, all benches together; nil: not stated
	CountClasses      CountClasses
	ScaleStepG        float64 // what the scale's last digit counts, in g
	MarkStepML        float64 // how finely a level is read off a container's marks, in ml
}

// CountClasses say how often items are counted: by the share of yearly use in
// money, running from the dearest, and how often a year each class is due.
type CountClasses struct {
	AShare, BShare         float64 // items up to so much of all use are A, then B; the rest are C
	ATimes, BTimes, CTimes int     // counts a year
}

// Supplier delivers on its own rhythm.
type Supplier struct {
	Code, Name       string
	OrderWeekday     time.Weekday
	Cutoff           string // HH:MM in the workshop's time zone, or empty
	LeadDays         int
	MinOrder         Money
	Carriage         Money
	CarriageFreeFrom Money
	HasFreeCarriage  bool
}

// Item is a thing kept on the shelf.
type Item struct {
	Code, Name  string
	Kind        Kind
	Measure     Measure
	Material    string // ISO 1629 code, or empty
	ShelfMonths int    // 0: not stated
	Critical    bool   // a job waits for it
	InsideMM    float64
	SectionMM   float64
	Hardness    float64
	DensityKgM3 float64 // at 15 °C; 0: not stated
	Viscosity40 float64 // mm²/s at 40 °C; 0: not stated
	FlashPointC *float64
	Bin, GTIN   string

	OpenedMonths int // months an opened container keeps; 0: as long as one that is not opened
}

// Kind is what sort of thing an item is.
type Kind string

// The kinds of the book's items table.
const (
	Seal       Kind = "seal"
	Wiper      Kind = "wiper"
	GlideRing  Kind = "glide-ring"
	ORing      Kind = "o-ring"
	BackupRing Kind = "backup-ring"
	Oil        Kind = "oil"
	Grease     Kind = "grease"
	Solvent    Kind = "solvent"
	Spacer     Kind = "spacer"
	Bushing    Kind = "bushing"
	Hardware   Kind = "hardware"
	Kit        Kind = "kit"
	Other      Kind = "other"
)

// Kinds lists every kind in the book's order.
var Kinds = []Kind{Seal, Wiper, GlideRing, ORing, BackupRing, Oil, Grease, Solvent, Spacer, Bushing, Hardware, Kit, Other}

// Holiday is a day on which a supplier neither takes orders nor delivers, or,
// where no supplier is named, the workshop neither orders nor receives.
type Holiday struct {
	Date     Date
	Supplier string // empty: the workshop
	Name     string
}

// Groove is where an O-ring sits on a piston: stretched over the root, pressed
// against the bore.
type Groove struct {
	Item                    string
	RootMM, BoreMM, WidthMM float64
}

// Offer is one price of one supplier for packs of an item, from so many packs.
type Offer struct {
	Item, Supplier string
	FromPacks      int
	SupplierCode   string
	PackQty        Quantity
	MinPacks       int
	Multiple       int
	Price          Money // per pack
	LeadDays       *int  // nil: the supplier's
}

// KitPart is what an item sold as a kit holds.
type KitPart struct {
	Kit, Item string
	Qty       Quantity
}

// Alternate may stand in for the item; one way.
type Alternate struct {
	Item, Alternate string
	Rank            int
	Note            string
}

// Model is a make of fork, shock or dropper.
type Model struct {
	Code, Name, Family string
}

// Service is a service type of a family of units.
type Service struct {
	Code, Name, Family string
	EveryHours         float64 // 0: no limit by hours
	EveryMonths        int     // 0: no limit by calendar
	Covers             []string
	BenchMinutes       int
}

// BOMLine is one line of the bill of materials: what a service takes of an
// item on a model, in force from a date until the day before To.
type BOMLine struct {
	Service, Model string // Model "*": every model of the service's family
	Item           string
	From, To       Date // zero: always, for ever
	Qty            Quantity
	Need           float64 // share of jobs that take it
	Waste          float64 // extra share of Qty
	Note           string  // why it is so much
}

// AnyModel is the bill of materials' "every model of the family".
const AnyModel = "*"

// Holder says whose a unit is.
type Holder string

// Fleet units are the workshop's own; customer units come from outside.
const (
	Fleet    Holder = "fleet"
	Customer Holder = "customer"
)

// Unit is one fork, shock or dropper with an hour meter.
type Unit struct {
	Code, Model  string
	Holder       Holder
	Group        string
	HoursPerWeek *float64 // nil: not stated
	InService    Date
	Retired      Date
	Readings     []Reading // by date
}

// Reading is the cumulative hours a meter showed on a day.
type Reading struct {
	Date  Date
	Hours float64
	Reset bool // a replaced meter: Hours counts from zero again
}

// JobState is where a job stands.
type JobState string

// The states of a job.
const (
	Booked    JobState = "booked"
	Done      JobState = "done"
	Cancelled JobState = "cancelled"
	NoShow    JobState = "no-show"
)

// Job is one service, or several, on one unit.
type Job struct {
	Code, Unit, Model string // Unit empty: a unit the book does not know
	Services          []string
	BookedOn          Date
	BenchDate         Date
	State             JobState
	DoneOn            Date
	CancelledOn       Date   // of a job that was cancelled or did not turn up; zero: not known
	DoneBy            string // who did it at the bench; empty: not recorded
}

// Setup is how a unit was set when it came to a job or left it: what a rider
// wants back. Empty texts and nil numbers were not recorded.
type Setup struct {
	Unit, Job     string
	On            Date
	After         bool // as it left; else as it came
	AirBar        *float64
	ReboundClicks *int   // from closed
	Compression   string // position or clicks, as the rider says it
	VolumeSpacers *int
	Note          string
}

// JobUse is what a job really took.
type JobUse struct {
	Job, Item, Lot string
	Qty            Quantity
}

// Lot is one delivery of an item, with what is on hand and set aside of it.
type Lot struct {
	Item, Code string
	Received   Date
	Expires    Date // zero: does not age
	UnitCost   UnitCost
	OnHand     Quantity
	SetAside   []SetAside
}

// SetAside is a quantity of a lot kept for a job.
type SetAside struct {
	Job string
	Qty Quantity
}

// OrderLine is one item of an order to a supplier.
type OrderLine struct {
	Order, Item, Supplier string
	Packs                 int
	PackQty               Quantity // of the offer when placed
	PlacedOn, DueOn       Date
	ReceivedOn            Date // of its latest delivery
	ReceivedPacks         int
	Price                 Money // a pack, when placed
	ClosedOn              Date  // the rest will not come; zero: it will
}

// Outstanding is what is ordered and still to come.
func (o OrderLine) Outstanding() Quantity {
	if !o.ClosedOn.IsZero() {
		return 0
	}
	return Quantity(max(0, o.Packs-o.ReceivedPacks)) * o.PackQty
}

// Count is what was found of an item on a day, all its lots together.
type Count struct {
	Item string
	Date Date
	Qty  Quantity
}

// Container is one whose empty weight is known.
type Container struct {
	Code, Name string
	Item       string // what it is for; empty: anything
	TareG      float64
	VolumeML   float64 // what it holds when full; 0: not stated
}

// CountPart is one container of a count: what it held, and how that was found.
// The parts of an item and day add up to its Count.
type CountPart struct {
	Item      string
	Date      Date
	Number    int    // 1, 2, 3 in the count; 0: a count of one container without a row of its own
	Container string // empty: none that is known
	Qty       Quantity
	Weighed   *Weighing // nil: it was measured, or read off marks
	OpenedOn  Date      // zero: it is not opened, or not known
}

// Receipt is a quantity that came from a supplier on a day.
type Receipt struct {
	Item string
	Date Date
	Qty  Quantity
}

// OtherMove is what went onto the shelf or left it on record on a day, for no
// order, job or count: parts of a kit that was opened, the kit itself, what was
// thrown away, a lot written down later than the opening shelf. Below zero: it
// left.
type OtherMove struct {
	Item string
	Date Date
	Qty  Quantity
}

// Spoiled is what a job's card says was spoiled beside what it used.
type Spoiled struct {
	Job, Item string
	Date      Date
	Qty       Quantity
}

// Stream is a kind of spent fluid that is gathered apart.
type Stream string

// The streams of the book's disposals table. Which may be mixed is for the
// carrier and local rules to say.
const (
	UsedOil     Stream = "oil"
	UsedGrease  Stream = "grease"
	UsedSolvent Stream = "solvent"
)

// Streams lists every stream in the book's order.
var Streams = []Stream{UsedOil, UsedGrease, UsedSolvent}

// Disposal is an amount of a spent fluid that was gathered, or handed over to
// a carrier.
type Disposal struct {
	Date       Date
	Number     int // 1, 2, 3 of the day
	Stream     Stream
	HandedOver bool     // to a carrier; else gathered in the workshop
	VolumeML   *float64 // nil: not measured
	WeightG    *float64 // net; nil: not weighed
	Carrier    string
	Document   string // number of the carrier's paper
	Note       string
}

// Shop is everything that planning one workshop needs, as it stood on AsOf.
// Slices are in the order of their keys.
type Shop struct {
	AsOf       Date
	TimeOfDay  string // HH:MM on AsOf where the workshop is; empty: the morning, before every cut-off
	Settings   Settings
	Suppliers  []Supplier
	Items      []Item
	Offers     []Offer
	Kits       []KitPart
	Alternates []Alternate
	Holidays   []Holiday
	Grooves    []Groove
	Models     []Model
	Services   []Service
	BOM        []BOMLine
	Units      []Unit
	Season     map[int]float64 // by ISO week 1 to 53
	Jobs       []Job
	Setups     []Setup
	Uses       []JobUse
	Lots       []Lot
	Orders     []OrderLine
	Counts     []Count
	Openings   []Count   // the opening shelf by item
	Receipts   []Receipt // after the opening
	Others     []OtherMove
	Spoils     []Spoiled
	Containers []Container
	CountParts []CountPart // by item, date and number
	Disposals  []Disposal
}
