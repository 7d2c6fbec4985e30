// Package audit holds what left the shelf against what the jobs account for,
// and says where the difference most likely went. It is pure: a shop in, an
// audit out.
//
// Between two counts of an item, drawn is what left the shelf, standard what
// the bill of materials allows the jobs done, recorded what their cards say.
// Drawn − recorded is unrecorded; recorded − standard is over standard; their
// sum is what is held against its own spread, period after period, on two
// charts. A signal begins an episode; what was drawn by services, models and
// people says which of them explains it.
//
//	for _, item := range audit.Of(shop, audit.Fluids).Items {
//		for i, p := range item.Periods {
//			fmt.Println(p.From, p.To, p.Unrecorded(), item.Marks[i].Signal)
//		}
//	}
package audit

import (
	"slices"

	"circlip/inventory"
)

// Scope is which items are audited.
type Scope int

// Fluids are the items kept in ml or g, Parts those counted by pieces.
const (
	Fluids Scope = iota
	Parts
)

// holds reports whether an item is within the scope.
func (s Scope) holds(i inventory.Item) bool { return (i.Measure == inventory.Each) == (s == Parts) }

// Audit is what the counts of a workshop come to.
type Audit struct {
	Workshop string
	AsOf     inventory.Date
	Currency inventory.Currency
	Scope    Scope
	Items    []ItemAudit         // those counted at least twice, in the order of the shop's items
	Once     []string            // codes of those counted once: a second count opens their first period
	Services []inventory.Service // of the shop, for their names
	Models   []inventory.Model
}

// ItemAudit is one item over all its periods.
type ItemAudit struct {
	Item     inventory.Item
	Cost     inventory.UnitCost // what one costs now; 0: nobody knows
	Periods  []Period           // by time
	Marks    []Mark             // one a period
	Episodes []Episode          // by time
	Services []Estimate         // by the order of the shop's services
	Models   []Estimate         // those it is used most for, of very many
	People   []Estimate         // those who are recorded, by name
	Blame    *Blame             // of the last episode of more than one period; nil: there is none, or nothing to tell it from
	Alike    []Alike            // what the periods cannot tell apart
	Changes  []Change           // of the bill that the estimates suggest
}

// LastRun is the last episode of more than one period, if there is one: a bottle
// found while oil leaks says nothing of the leak.
func (a ItemAudit) LastRun() (e Episode, any bool) {
	for _, e := range slices.Backward(a.Episodes) {
		if !e.Once {
			return e, true
		}
	}
	return e, false
}

// Period is one item between two counts: after the day From, up to and with
// the day To. Quantities are in the item's steps, spreads in its measure.
type Period struct {
	Item             string
	From, To         inventory.Date
	Opening, Closing inventory.Quantity // as counted
	Received         inventory.Quantity // from suppliers, less what went back
	Other            inventory.Quantity // moved otherwise on record, see inventory.OtherMove
	Standard         inventory.Quantity // of the jobs done, shares of jobs and waste included
	Recorded         inventory.Quantity // on the job cards, what was spoiled included
	Jobs             int                // done, whose bill has the item
	NoCard           int                // of them, certain to take it, whose cards have none
	Uncarded         inventory.Quantity // what the bill allows those

	// Standard deviations: of what the jobs took about their standard, of the
	// two counts together, and of what the cards leave open. How much jobs vary
	// is learnt from all cards of the item, those of later periods included.
	JobSpread, CountSpread, CardSpread float64

	Findings []Finding // what may explain it, the likeliest first; the next count may tell more
	Joined   bool      // with the next for the estimates: the count between is not to be trusted
	LeftOut  bool      // of the estimates: what it says is not of jobs
}

// Drawn is what left the shelf by the counts; below zero, more was found than
// can have been there.
func (p Period) Drawn() inventory.Quantity { return p.Opening + p.Received + p.Other - p.Closing }

// Unrecorded is what left the shelf and stands on no job card.
func (p Period) Unrecorded() inventory.Quantity { return p.Drawn() - p.Recorded }

// OverStandard is what the cards say beyond the bill of materials.
func (p Period) OverStandard() inventory.Quantity { return p.Recorded - p.Standard }

// Excess is what was drawn beyond the bill of materials: unrecorded and over
// standard together.
func (p Period) Excess() inventory.Quantity { return p.Drawn() - p.Standard }

// Days is how long the period lasts.
func (p Period) Days() int { return int(p.To - p.From) }

// Finding is one thing that may explain a period, or that must be known to read
// it. Nothing of it is taken off any figure.
type Finding struct {
	Kind FindingKind
	On   inventory.Date     // of what it speaks of; zero: the period as a whole
	Ref  string             // the container, order or job; empty where there is none
	N    int                // how many containers, counts or jobs
	Qty  inventory.Quantity // what it comes to, in the item's steps
}

// FindingKind is what sort of thing a finding is.
type FindingKind string

// The kinds of findings. The first five may explain a difference and are only
// told where it is beyond three sigmas, or in every period since a unit changed
// for good: Qty is how much of the excess they
// explain, below zero where more was found. What one count did to two periods
// is told in both, with opposite signs. The others say how to read a period.
const (
	BookedLate   FindingKind = "booked late"    // a delivery (On, Ref: the order, N packs) was on the shelf before it was booked in
	Whole        FindingKind = "whole"          // N whole containers found, or missing (Qty below zero: found)
	GramsAsML    FindingKind = "grams as ml"    // N parts of the count On fit grams written down as ml
	MLAsGrams    FindingKind = "ml as grams"    // or the other way
	Miscounted   FindingKind = "miscounted"     // the count On fits neither the one before nor the one after
	TareChanged  FindingKind = "tare changed"   // a container (Ref) was reckoned with another tare than before; Qty as above
	Unexplained  FindingKind = "unexplained"    // far beyond all that jobs do, alone, and nothing on record fits; Qty is the excess
	Negative     FindingKind = "negative"       // more was found than can have been there; Qty is what was drawn
	TareUnlike   FindingKind = "tare unlike"    // a container (Ref) was reckoned with a tare that is not its known one; Qty is how much less it held by that
	CountsMissed FindingKind = "counts missed"  // N counts of the usual rhythm are missing in it
	TwoWays      FindingKind = "two ways"       // one count was weighed, the other measured
	NoTemp       FindingKind = "no temperature" // N containers were weighed On without one
	NoCards      FindingKind = "no cards"       // N jobs certain to take the item have none on their cards; Qty, where it fits: they took none
	Opened       FindingKind = "opened"         // a container (Ref) opened On is past what it keeps; Qty is what it held
)

// Signal is what a chart says of a period.
type Signal string

// High: more left than the jobs explain. Low: less.
const (
	High Signal = "high"
	Low  Signal = "low"
)

// Mark is where the charts stand after a period, in sigmas but for Sigma itself.
type Mark struct {
	Sigma     float64 // standard deviation of the excess that is to be expected, in the measure
	Z         float64 // the excess in sigmas
	Score     float64 // Z as a standard normal, given how little was known of sigma
	EWMA      float64 // of the scores
	EWMALimit float64 // on either side, at this period
	High, Low float64 // tabular CUSUM of the scores; neither is ever below zero
	Signal    Signal  // empty: none
	Fresh     bool    // the charts began anew here
}

// Episode is a run of signals in one direction, or one period alone that is
// far beyond all the others, such as a bottle lost or found.
type Episode struct {
	Direction   Signal
	Start       int             // index of the period in which it likely began
	First, Last int             // of those with its first and its latest signal
	Began       inventory.Date  // first day of the period Start
	End         int             // index of the period in which it likely ended; the latest one if Open
	Open        bool            // it lasts until the latest period
	Once        bool            // one period alone: no rate, Start and End are that period
	PerWeek     float64         // mean excess a week from Start to End, in the measure; below zero for Low; 0 if Once
	Money       inventory.Money // what the excess from Start to End costs; below zero for what was left over
}

// Estimate is what a service, model or person really takes of an item a job, in
// the measure.
type Estimate struct {
	Code           string
	Jobs           int
	StandardPerJob float64 // mean over the jobs
	PerJob         float64 // estimated
	Low, High      float64 // 95 in 100 such intervals hold the truth; High may be infinite
	Known          bool    // the periods tell it; else the interval says that they do not
}

// By is by what an estimate divides the jobs.
type By string

// The ways to divide jobs.
const (
	ByService By = "service"
	ByModel   By = "model"
	ByPerson  By = "person"
	ByAll     By = "all"  // every job alike, in proportion to what the bill allows it
	ByNone    By = "none" // the same amount a week, whatever is done
)

// Blame is what explains an episode best if one thing alone is to.
type Blame struct {
	By      By
	Code    string  // empty for ByAll and ByNone
	Prob    float64 // among all candidates, each as likely before
	Extra   float64 // a job beyond the standard, or a week for ByNone; in the measure, below zero for Low
	Share   float64 // of the episode's excess that it explains, 0 to 1
	RunUp   string  // the next likely of the services, empty: none
	RunProb float64 // of RunUp, as Prob
}

// Alike are two whose use the periods cannot tell apart, and the weighing that
// would help most.
type Alike struct {
	By          By
	A, B        string         // their codes
	Correlation float64        // of their estimates, −1 to 0
	WeighOn     inventory.Date // in the evening; zero: no booked day tells them apart
	JobsA       int            // of each that lie between that weighing and the one before
	JobsB       int
}

// Change is a line of the bill of materials that should say something else.
type Change struct {
	Line      inventory.BOMLine  // as it is
	Qty       inventory.Quantity // what it should say
	PerJob    float64            // estimated use of a job, waste and need included; in the measure
	Low, High float64            // 95 in 100 such intervals hold the truth
	Jobs      int                // that it rests on
	Periods   int                // that it rests on, joined ones as one
}
