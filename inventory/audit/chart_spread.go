package audit

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// widthLaw is what is known of the true spread of the excess, in those that were
// expected: a scaled inverse χ² law. What the bill and the scale let expect is
// but a first guess; successive periods teach better.
//
// That makes charts which need no trial run before they may signal, after the
// Q charts of Quesenberry (1991) and the self-starting CUSUM of Hawkins (1987);
// both from memory. Theirs know nothing beforehand and learn by the sample's
// variance, ours begins with a guess and learns by successive differences.
type widthLaw struct {
	variance float64
	worth    float64 // degrees of freedom it rests on
}

// supposed is what is known before the first period: the expected spread, as
// if twenty periods had told it.
var supposed = widthLaw{variance: 1, worth: 20}

// beyond is how far a successive difference may be from nothing, in standard
// deviations, before it counts no further: one bottle found must not hide the
// losses of the next months.
const beyond = 2

// kept is the mean of a squared standard normal of which no more than beyond²
// counts: P(χ²₃ ≤ b²) + b²·P(χ²₁ > b²).
var kept = distuv.ChiSquared{K: 3}.CDF(beyond*beyond) + beyond*beyond*distuv.ChiSquared{K: 1}.Survival(beyond*beyond)

// differenceWorth is the degrees of freedom of one successive difference. Half
// its square has one, but neighbours share a period: of n they come to 2n/3
// (the mean square successive difference of von Neumann and others, 1941; from
// memory), and to a little less with their tails cut.
const differenceWorth = 0.6

// learn takes in the difference of z between a period and the one before; a
// lasting shift shows in one difference only. covariance is that of their z's.
func (s widthLaw) learn(difference, covariance float64) widthLaw {
	square := difference * difference / 2 / (1 - covariance)
	square = math.Min(square, beyond*beyond*s.variance) / kept
	worth := s.worth + differenceWorth
	return widthLaw{s.variance + differenceWorth/worth*(square-s.variance), worth}
}

// sharedCount is the covariance of the excess of two successive periods, in the
// measure: what the count between them has too much of, the one has drawn too
// little and the other too much. Each count is taken to have half of a period's
// variance.
func sharedCount(before, p Period) float64 { return -before.CountSpread * p.CountSpread / 2 }

// farthest bounds scores; a standard normal is not beyond it in a million
// million years of weekly counts.
const farthest = 8

// score is z as a standard normal: its place in the Student law that holds while
// the spread is known no better, looked up in the normal law.
func (s widthLaw) score(z float64) float64 {
	student := distuv.StudentsT{Sigma: math.Sqrt(s.variance), Nu: s.worth}
	tail := student.CDF(-math.Abs(z))
	score := math.Min(farthest, -distuv.UnitNormal.Quantile(tail))
	return math.Copysign(score, z)
}
