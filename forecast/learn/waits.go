package learn

import "math"

// The longest past of a cycle that is looked into: so many services done
// elsewhere, so many weeks waited. What lies beyond is a meter or a record
// gone wrong, or a unit that is not ridden any more.
const (
	mostTimes = 24
	mostWeeks = 260
)

// habitLaw is the prior of capture and lag in observations: services done here
// and elsewhere, and services waited for and the weeks waited for them. The
// second is a Beta law of the weekly chance to come, of which the mean lag has
// the mean weeks/times.
type habitLaw struct{ yes, no, times, weeks float64 }

func habitPrior(capture, lag float64) habitLaw {
	return habitLaw{
		yes: max(capture*habitWeight, leastDoubt), no: max((1-capture)*habitWeight, leastDoubt),
		times: habitWeight, weeks: max(lag*habitWeight, leastDoubt),
	}
}

// log is the log density of the logit of the capture and the log of the mean
// lag, up to a constant, the densities taken over to these scales.
func (l habitLaw) log(at []float64) float64 {
	p, come := logistic(at[0]), 1/(1+math.Exp(at[1]))
	return l.yes*math.Log(p) + l.no*math.Log1p(-p) +
		(l.times+1)*math.Log(come) + l.weeks*math.Log1p(-come)
}

// waits are the cycles as the likelihood needs them. Most hold one service for
// certain and count only together.
type waits struct {
	sure, sureWeeks int      // cycles with one service for certain, and their weeks
	closed          [][]wait // cycles with one or several: what each number would mean
	open            [][]int  // weeks that would be left after 1, 2, … services
}

// wait says that a cycle held times services, and how likely its hours are when
// first, first+1, … weeks were waited for them altogether.
type wait struct {
	times, first int
	weights      []float64
}

// newWaits sorts the cycles and counts them in the habit.
func newWaits(cycles []Cycle, h *Habit) *waits {
	w := &waits{}
	for _, c := range cycles {
		over := float64(c.Hours - c.Every)
		switch {
		case !c.sound():
			h.LeftOut++
		case over < 0:
			h.NotDue++
		case c.Closed:
			h.Captured++
			w.close(c)
		default:
			h.Open++
			w.open = append(w.open, c.left())
		}
	}
	return w
}

func (c Cycle) sound() bool {
	hours, every := float64(c.Hours), float64(c.Every)
	ok := hours >= 0 && every > 0 && c.Rate > 0 && !math.IsInf(c.Rate, 1) && c.Spread >= 0
	return ok && hours < every*mostTimes && c.late() <= mostWeeks
}

// late is the number of weeks that the cycle is over its limit.
func (c Cycle) late() int {
	if c.WeeksLate >= 0 {
		return c.WeeksLate
	}
	return int(min(max(0, float64(c.Hours-c.Every)/c.Rate), mostWeeks+1))
}

// overshoot is the mean of what a meter shows beyond a limit when the day is
// over: half its spread and half a day's riding (renewal theory).
func (c Cycle) overshoot() float64 { return float64(c.Spread)/2 + c.Rate/14 }

func (w *waits) close(c Cycle) {
	all := []wait{{1, c.late(), []float64{1}}}
	for n := 2; float64(c.Hours) >= float64(n)*float64(c.Every); n++ {
		all = append(all, c.waited(n))
	}
	if len(all) == 1 {
		w.sure++
		w.sureWeeks += c.late()
		return
	}
	w.closed = append(w.closed, all)
}

// waited tells how long n services may have been waited for, given the hours
// ridden beyond n limits: a gamma number whose mean and variance grow with the
// weeks. The weight is the density for a week's worth of hours; where it is a
// ten-thousandth of one it is left out.
func (c Cycle) waited(n int) wait {
	beyond := max(float64(c.Hours)-float64(n)*float64(c.Every), 0.01*c.overshoot())
	over := float64(n) * c.overshoot()
	list := wait{times: n}
	for weeks := 0; weeks <= mostWeeks; weeks++ {
		ridden := c.Rate * float64(weeks)
		mean := over + ridden
		variance := over*c.overshoot() + float64(c.Spread)*ridden
		weight := c.Rate * gammaDensity(beyond, mean, variance)
		switch {
		case weight > 1e-4:
			list.weights = append(list.weights, weight)
		case len(list.weights) == 0:
			list.first = min(weeks+1, mostWeeks)
		}
		if mean-beyond > 5*math.Sqrt(variance) {
			break
		}
	}
	return list
}

// left lists how many weeks lie between the end of an open cycle and the
// earliest day on which the first, second, … service could have been done.
func (c Cycle) left() []int {
	weeks := []int{c.late()}
	for n := 2; n < mostTimes; n++ {
		beyond := float64(c.Hours) - float64(n)*(float64(c.Every)+c.overshoot())
		if beyond < 0 {
			break
		}
		weeks = append(weeks, min(int(beyond/c.Rate), mostWeeks))
	}
	return weeks
}

// log is the log likelihood of the cycles.
func (w *waits) log(at []float64) float64 {
	p := logistic(at[0])
	law := newWaitLaw(at)
	sum := float64(w.sure)*math.Log(p) + float64(w.sure)*math.Log(law.come) + float64(w.sureWeeks)*math.Log1p(-law.come)
	product := 1.0
	for _, list := range w.closed {
		product *= law.chance(list)
		if product < 1e-200 {
			sum, product = sum+math.Log(max(product, 1e-300)), 1
		}
	}
	for _, left := range w.open {
		product *= law.none(left)
		if product < 1e-200 {
			sum, product = sum+math.Log(max(product, 1e-300)), 1
		}
	}
	return sum + math.Log(product)
}

// missed is the expected number of services done elsewhere.
func (w *waits) missed(at []float64) float64 {
	law := newWaitLaw(at)
	sum := 0.0
	for _, list := range w.closed {
		chance, times := 0.0, 0.0
		for _, t := range list {
			q := law.of(t)
			chance += q
			times += q * float64(t.times-1)
		}
		sum += times / max(chance, 1e-300)
	}
	for _, left := range w.open {
		sum += law.missed(left)
	}
	return sum
}

// waitLaw holds, for one capture and lag, the probabilities that all cycles
// share: closed[n][k] that the n-th service is the first done here and k weeks
// were waited in all; within[n][k] that n services took at most k weeks.
type waitLaw struct {
	elsewhere, come float64
	closed, within  [][]float64
}

func newWaitLaw(at []float64) *waitLaw {
	p := logistic(at[0])
	law := &waitLaw{elsewhere: 1 - p, come: 1 / (1 + math.Exp(at[1]))}
	law.closed, law.within = make([][]float64, mostTimes+1), make([][]float64, mostTimes+1)
	here, start := p, 1.0
	for n := 1; n <= mostTimes; n++ {
		start *= law.come
		closed, within := make([]float64, mostWeeks+1), make([]float64, mostWeeks+1)
		chance, sum := start, 0.0 // negative binomial, term by term
		for k := range closed {
			closed[k] = here * chance
			sum += chance
			within[k] = min(sum, 1)
			chance *= float64(n+k) / float64(k+1) * (1 - law.come)
		}
		law.closed[n], law.within[n] = closed, within
		here *= law.elsewhere
	}
	return law
}

func (l *waitLaw) chance(list []wait) float64 {
	sum := 0.0
	for _, t := range list {
		sum += l.of(t)
	}
	return sum
}

func (l *waitLaw) of(t wait) float64 {
	closed := l.closed[t.times][t.first:]
	sum := 0.0
	for i, weight := range t.weights {
		sum += weight * closed[i]
	}
	return sum
}

// none is the probability that a cycle is still open: of the services that may
// have been done by now, all were done elsewhere.
func (l *waitLaw) none(left []int) float64 {
	sum, elsewhere, reached := 0.0, 1.0, 1.0
	for i, weeks := range left {
		next := min(reached, l.within[i+1][weeks])
		sum += elsewhere * (reached - next)
		reached = next
		elsewhere *= l.elsewhere
	}
	return sum + elsewhere*reached
}

// missed is the expected number of services done elsewhere in an open cycle.
func (l *waitLaw) missed(left []int) float64 {
	times, elsewhere, reached := 0.0, 1.0, 1.0
	for i, weeks := range left {
		next := min(reached, l.within[i+1][weeks])
		times += float64(i) * elsewhere * (reached - next)
		reached = next
		elsewhere *= l.elsewhere
	}
	times += float64(len(left)) * elsewhere * reached
	return times / max(l.none(left), 1e-300)
}

// gammaDensity is the density at x > 0 of the gamma law with a mean and variance.
func gammaDensity(x, mean, variance float64) float64 {
	shape, scale := mean*mean/variance, variance/mean
	lg, _ := math.Lgamma(shape)
	return math.Exp((shape-1)*math.Log(x/scale)-x/scale-lg) / scale
}

func logit(p float64) float64    { return math.Log(p) - math.Log1p(-p) }
func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// finite is x, or 0 where x is no number or without bound.
func finite(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return x
}
