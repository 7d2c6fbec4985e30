package series

import "math"

// Past is what all series of a workshop share.
type Past struct {
	Phase  []int // of each past period its place in the season, 0 to Phases-1
	Phases int   // periods in a season; 0 where there is none
	Series []Series
}

// Series is what was counted of one thing.
type Series struct {
	Counts []int // by period, as long as Past.Phase; below 0 is taken as 0
	Family int   // any number; series with the same one borrow from each other
}

// Method is a way to tell the coming from the past.
type Method int

// The methods that are judged.
const (
	GammaPoisson Method = iota // a gamma law of the rate that forgets, with a season
	GammaTide                  // the same of the share in a family whose level moves
	CrostonNB                  // Croston's mean, negative binomial
	SBANB                      // the mean of Syntetos and Boylan
	TSBNB                      // the mean of Teunter, Syntetos and Babai
	SESNB                      // simple exponential smoothing
)

var methodNames = [...]string{
	"gamma-Poisson", "gamma-Poisson in its family's tide", "Croston", "Syntetos-Boylan", "Teunter-Syntetos-Babai", "exponential smoothing",
}

// String is the method's name.
func (m Method) String() string { return methodNames[m] }

// smoother tells whether the method knows neither season nor family.
func (m Method) smoother() bool { return m >= CrostonNB }

// Basis says what a law rests on.
type Basis int

// The bases, from the least seen.
const (
	NoPast   Basis = iota // not one period: the rate is 0 for want of anything else
	NoCount               // nothing was ever counted: the rate is the family's, as far as zeros allow
	Borrowed              // fewer than five counted: mostly the family's
	Late                  // began so late that the periods before the first count are left out
	Own                   // the series' own past
)

var basisNames = [...]string{
	"no past", "nothing counted yet", "few counted, mostly the family's", "only since it began", "its own past",
}

// String says it in words.
func (b Basis) String() string { return basisNames[b] }

// Scored is a method with what it was worth on the past.
type Scored struct {
	Method Method
	Memory float64 // share of a period's weight kept a period later
	// RPS is the mean ranked probability score of forecasts one, two and four
	// periods ahead; 0 where the past is too short to judge.
	RPS    float64
	Family float64 // the score relative to the mean of all methods, averaged over the family
}

// Law is the law of what comes.
type Law struct {
	Method Method
	Memory float64 // share of a period's weight kept a period later
	Basis  Basis

	Rate float64 // expected a period at season factor 1
	// Shape is the size of the negative binomial law of a count, from .05; +Inf
	// where that is Poisson. It holds the doubt of the rate and the scatter of
	// single periods beyond Poisson together, and is that of one period. Held
	// for the sum of several it is as sure as it should be where there is no
	// such scatter, and a little too careful where there is.
	Shape  float64
	Factor []float64 // by phase, mean 1; empty where there is no season

	Scores  []Scored // of every method, in a fixed order
	Origins int      // points of the past from which each was judged
	Periods int      // periods that the law rests on
	Total   int      // counted in them
}

// Mean is what is expected of a period with a place in the season.
func (l Law) Mean(phase int) float64 {
	if phase < 0 || phase >= len(l.Factor) {
		return l.Rate
	}
	return l.Rate * l.Factor[phase]
}

// narrowest is the least shape: below it nearly all of the law lies at 0.
const narrowest = .05

// size turns a squared coefficient of variation of the rate into a shape.
func size(spread float64) float64 {
	if !(spread > 0) {
		return math.Inf(1)
	}
	return max(narrowest, 1/spread)
}
