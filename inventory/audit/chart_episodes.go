package audit

import (
	"math"

	"circlip/inventory"
)

// An episode is over once the periods since its latest signal are twenty times
// likelier with the shift gone. A new signal takes it up again all the same,
// unless the pause was a thousand times likelier: shifts that end and come back
// are rarer than lulls.
var (
	overBy  = math.Log(20)
	pauseBy = math.Log(1000)
)

// signals is an item's periods read for what lasted and what did not.
type signals struct {
	periods []Period
	marks   []Mark
	alone   []bool // beyond Limits.Alone while what follows is not like it
	work    []float64
}

// episodes are the runs of signals among an item's marks, in the order of their
// first signals. A signal belongs to the run before it if that has the same
// direction and was not long over. A period alone is an episode by itself, and
// is left out of the one it falls in: its rate, money, beginning and end.
func episodes(a ItemAudit) []Episode {
	s := signals{a.Periods, a.Marks, make([]bool, len(a.Marks)), workOf(a)}
	var all []Episode
	var lasting []int // those of all that are not Once
	for i, m := range a.Marks {
		if m.Signal == "" {
			continue
		}
		var before *Episode
		if len(lasting) > 0 && s.goesOn(all[lasting[len(lasting)-1]], i) {
			before = &all[lasting[len(lasting)-1]]
		}
		switch {
		case s.standsAlone(i, before):
			s.alone[i] = true
			all = append(all, Episode{Direction: m.Signal, Start: i, First: i, Last: i, End: i, Once: true})
		case before != nil:
			before.Last = i
		default:
			lasting = append(lasting, len(all))
			all = append(all, Episode{Direction: m.Signal, Start: s.began(i), First: i, Last: i})
		}
	}
	for n, i := range lasting {
		s.end(&all[i], all, lasting[n+1:])
	}
	for i := range all {
		s.sumUp(&all[i], a)
	}
	return all
}

// goesOn tells whether the signal of period i belongs to an episode before it.
func (s signals) goesOn(e Episode, i int) bool {
	_, evidence := s.over(e, i)
	return s.marks[i].Signal == e.Direction && evidence < pauseBy
}

// standsAlone tells whether a period is far beyond the limits, beyond the shift
// that goes on in it (nil: none), and not like what follows. The latest one
// stands alone until the next count says otherwise.
func (s signals) standsAlone(i int, goesOn *Episode) bool {
	direction := s.marks[i].Signal
	score, work := s.along(i, direction)
	if goesOn != nil {
		score -= s.fit(*goesOn).in(work)
	}
	if score <= limits.Alone {
		return false
	}
	last, evidence := s.over(Episode{Direction: direction, Start: i, Last: i}, len(s.marks))
	return last == i && (evidence >= overBy || i+1 == len(s.marks))
}

// began is the period in which the shift that period i signals likely began:
// the maximum likelihood estimate of where a step begins in the scores since the
// charts last began anew (Samuel, Pignatiello & Calvin 1998, from memory; there
// the mean of a sample, here of periods of unequal length, too).
func (s signals) began(i int) int {
	start, most := i, math.Inf(-1)
	var fit stepFit
	for j := i; j >= 0 && (j == i || s.marks[j].Signal == "" || s.alone[j]); j-- {
		if s.alone[j] {
			continue
		}
		fit = fit.with(s.along(j, s.marks[i].Signal))
		if gain := fit.gain(); gain > most {
			start, most = j, gain
		}
	}
	return start
}

// stepFit is a shift fitted to scores, in proportion to what the jobs of a period
// are allowed: those of work w are shifted by √w. A week without a job says next
// to nothing of what jobs take.
type stepFit struct{ scores, work float64 }

func (f stepFit) with(score, work float64) stepFit {
	return stepFit{f.scores + score*math.Sqrt(work), f.work + work}
}

// gain is twice the logarithm of how much likelier the shift makes the scores
// than none; below zero for one in the other direction.
func (f stepFit) gain() float64 { return math.Copysign(f.scores*f.scores/f.work, f.scores) }

// in is the shift of a period of so much work, less one standard error, since a
// signal comes when chance adds to it; at least 2K in a period of usual work,
// which the charts are set for.
func (f stepFit) in(work float64) float64 {
	return math.Max((f.scores/f.work-1/math.Sqrt(f.work))*math.Sqrt(work), 2*limits.K*math.Sqrt(math.Min(1, work)))
}

// idle is the work of a period without a job, as a share of a usual one's: losses
// need no job.
const idle = 0.01

// workOf is how far each period would be shifted by jobs that take a share too
// much: its standard in sigmas, squared, the item's mean being 1.
func workOf(a ItemAudit) []float64 {
	work, sum := make([]float64, len(a.Periods)), 0.0
	for i, p := range a.Periods {
		standard := a.Item.Measure.Number(p.Standard) / a.Marks[i].Sigma
		work[i] = standard * standard
		sum += work[i]
	}
	for i, p := range a.Periods {
		if sum == 0 {
			work[i] = math.Max(1, float64(p.Days())) / 7 // no job at all: by the day
			continue
		}
		work[i] = math.Max(idle, work[i]*float64(len(work))/sum)
	}
	return work
}

// along is the score of a period in a direction, and its work.
func (s signals) along(i int, direction Signal) (score, work float64) {
	score = s.marks[i].Score
	if direction == Low {
		score = -score
	}
	return score, s.work[i]
}

// fit is the shift of an episode from its beginning to its latest signal.
func (s signals) fit(e Episode) (fit stepFit) {
	for i := e.Start; i <= e.Last; i++ {
		if !s.alone[i] {
			fit = fit.with(s.along(i, e.Direction))
		}
	}
	return fit
}

// over reads the periods after an episode's latest signal up to, and without,
// the one until: the last that likely belongs to it, and the evidence that those
// after it do not. That is the logarithm of how much likelier their scores are
// without the shift, a CUSUM from the place on where it is most (Page 1954); once
// it has come to overBy that place stays.
func (s signals) over(e Episode, until int) (last int, evidence float64) {
	fit, last, most := s.fit(e), e.Last, 0.0
	for i := e.Last + 1; i < until; i++ {
		if s.alone[i] {
			continue
		}
		score, work := s.along(i, e.Direction)
		shift := fit.in(work)
		evidence += shift * (shift/2 - score)
		most = math.Max(most, evidence)
		if evidence <= 0 && most < overBy {
			evidence, most, last = 0, 0, i
		}
	}
	return last, most
}

// end finds where an episode ends: where its scores say, where the next lasting
// one begins, or not yet.
func (s signals) end(e *Episode, all []Episode, later []int) {
	until := len(s.marks)
	if len(later) > 0 {
		until = all[later[0]].Start
	}
	last, evidence := s.over(*e, until)
	e.End, e.Open = last, evidence < overBy && len(later) == 0
	if e.Open {
		e.End = len(s.marks) - 1
	}
}

// sumUp works out what an episode comes to.
func (s signals) sumUp(e *Episode, a ItemAudit) {
	var excess inventory.Quantity
	days := 0
	for i := e.Start; i <= e.End; i++ {
		if e.Once || !s.alone[i] {
			excess += a.Periods[i].Excess()
			days += a.Periods[i].Days()
		}
	}
	e.Began = a.Periods[e.Start].From + 1
	e.Money = inventory.Value(excess, a.Item.Measure, a.Cost)
	if !e.Once && days > 0 {
		e.PerWeek = a.Item.Measure.Number(excess) * 7 / float64(days)
	}
}
