package forecast

// Service is one service of a family of units.
type Service struct {
	ID     int   // the caller's number for it, unique in the ladder
	Every  Hours // hours ridden between two times; 0 is no limit in hours
	Months int   // months between two times; 0 is no limit in time
	Covers []int // IDs of the services it includes; what those cover follows
}

// Ladder is the services of one family of units. FoldIn is the share of a
// service's hours by which one that covers it is brought forward to be done
// in its place. The same Ladder may serve many units; it is never changed.
type Ladder struct {
	Services []Service
	FoldIn   float64
}

// Clock tells where one service of a unit stands. Hours are those ridden
// since it was last done (since first use if never), up to the unit's latest
// reading; where it was done after that reading, Hours is not used and the
// clock starts at zero on DoneOn. DoneOn is the day it was last done or the
// unit was first used.
type Clock struct {
	Hours  Hours
	DoneOn Day
}

// Booking is an open job in the book. Services are IDs of the unit's ladder.
// One dated before the day of the forecast counts on that day.
type Booking struct {
	Services []int
	Bench    Day
}

// Source tells where a foreseen job comes from.
type Source int

// The sources, in the order in which reports list them.
const (
	Booked    Source = iota // an open job in the book
	Fleet                   // a unit of the workshop's own fleet
	Returning               // a customer's unit that was here before
	WalkIn                  // a unit not known
	sources
)

// Unit is what is known of one unit on the day of its latest reading.
type Unit struct {
	Ladder *Ladder
	Model  int    // the caller's number of its model, handed through
	Source Source // Fleet or Returning: the source of what is not booked

	HoursPerWeek float64 // mean hours ridden in a week of season factor 1; may be 0
	Spread       Hours   // variance of hours ridden over their mean
	ReadOn       Day     // day of the latest reading, at its start
	Clocks       []Clock // one for each service of the ladder, in its order

	Capture  float64 // probability that a due service is done here, not elsewhere
	LagWeeks Weeks   // mean whole weeks from due to done, geometric on 0, 1, 2, …
	ShowRate float64 // probability that a booking turns up
	Bookings []Booking
}
