package series

// tracks are what a candidate holds of each member after each period, from
// nothing later than that period, the season aside.
func (f *family) tracks(c candidate, season []float64) []track {
	tracks := make([]track, len(f.members))
	if c.method.smoother() {
		for i := range f.y {
			tracks[i] = track{level: f.smooth(i, c), doubt: make([]float64, f.periods)}
		}
		f.scatter(tracks, f.unfold(nil))
		return tracks
	}
	flow := f.still()
	if c.method == GammaTide {
		flow = f.tide(season)
	}
	prior := f.prior(c.memory, season, flow)
	for i := range f.y {
		tracks[i] = f.filter(i, c.memory, prior, season, flow)
	}
	f.scatter(tracks, season)
	return tracks
}

// smooth is what one of the smoothers forecasts after each period.
func (f *family) smooth(i int, c candidate) []float64 {
	y, alpha := f.y[i][f.start[i]:], 1-c.memory
	level := make([]float64, f.start[i], f.periods)
	switch c.method {
	case CrostonNB:
		return append(level, crostonPath(y, alpha)...)
	case SBANB:
		level = append(level, crostonPath(y, alpha)...)
		for t := range level {
			level[t] *= 1 - alpha/2
		}
		return level
	case TSBNB:
		return append(level, tsbPath(y, alpha, alpha)...)
	default:
		return append(level, sesPath(y, alpha)...)
	}
}

// still is the tide that does not move.
func (f *family) still() []float64 {
	flow := make([]float64, f.periods)
	for t := range flow {
		flow[t] = 1
	}
	return flow
}

const (
	tideMemory = .9 // share of a period's weight in the tide kept a period later
	tideCounts = 5  // weighted counts below which the tide is not told
)

// tide is, for each period, how much lower the level of the whole family was
// in the period before: their ratio, from counts smoothed over about ten
// periods. It lags, but evenly, so that ratios hold.
func (f *family) tide(season []float64) []float64 {
	flow := f.still()
	counts, weight, before := 0.0, 0.0, 0.0
	for t := range flow {
		counts, weight = tideMemory*counts+f.total[t], tideMemory*weight+season[t]
		if counts < tideCounts {
			continue
		}
		now := counts / weight
		if before > 0 {
			flow[t] = max(.5, min(2, before/now))
		}
		before = now
	}
	return flow
}

// prior is the gamma law of the members' rates: its mean after each period.
type prior struct {
	mean  []float64
	shape float64
}

// prior is learnt from the family's own counts, weighted as the candidate does.
func (f *family) prior(memory float64, season, flow []float64) prior {
	p := prior{mean: make([]float64, f.periods), shape: f.alike()}
	sum, weight := 0.0, 0.0
	for t := range p.mean {
		sum = memory*sum + f.total[t]
		weight = memory*weight*flow[t] + season[t]*float64(len(f.members))
		p.mean[t] = (sum + .5) / weight
	}
	return p
}

// alike is the shape of the gamma law of the members' rates: by moments of
// their totals, beside four imagined members whose rates vary as much as they
// are high.
func (f *family) alike() float64 {
	all := 0.0
	for _, total := range f.total {
		all += total
	}
	mean := all / float64(len(f.members))
	if mean == 0 {
		return 1
	}
	excess := 4 * mean * mean
	for _, y := range f.y {
		own := 0.0
		for _, v := range y {
			own += v
		}
		excess += (own-mean)*(own-mean) - mean
	}
	varied := excess / (mean * mean * float64(len(f.members)+4))
	return 1 / max(.02, min(10, varied))
}

// filter is the conjugate gamma-Poisson filter of Harvey & Fernandes, Time
// series models for count or qualitative observations, Journal of Business &
// Economic Statistics 7 (1989), with two differences. The family's law is not
// forgotten with the counts: a series of which nothing is heard any more goes
// back to it, not to 0. And what was seen while the family stood higher counts
// as seen for longer, so that all that is left to follow is the series' share.
func (f *family) filter(i int, memory float64, p prior, season, flow []float64) track {
	t := track{level: make([]float64, f.periods), doubt: make([]float64, f.periods)}
	a, b := 0.0, 0.0
	for k := range t.level {
		if k >= f.start[i] {
			a, b = memory*a+f.y[i][k], memory*b*flow[k]+season[k]
		}
		t.level[k] = (p.shape + a) / (p.shape/p.mean[k] + b)
		t.doubt[k] = 1 / (p.shape + a)
	}
	return t
}

// loose is how far apart the scatters of families are thought to lie, as a
// squared coefficient of variation, before anything is seen.
const loose = .5

// errors sum up how far forecasts of single periods were off.
type errors struct {
	excess float64 // squared errors beyond what a Poisson law explains
	base   float64 // squares of the forecasts
	noise  float64 // variance of excess if there were no scatter
}

func (e *errors) add(mean, doubt, y float64) {
	known := mean + mean*mean*doubt
	e.excess += (y-mean)*(y-mean) - known
	e.base += mean * mean
	e.noise += known + 2*known*known
}

// toward is the scatter that the errors tell, shrunk to a guess as far as the
// guess is sure: both are weighted by the inverse of their variances.
func (e *errors) toward(guess, sd float64) float64 {
	if !(e.noise > 0) {
		return guess
	}
	told := e.base * e.base / e.noise
	sure := 1 / (sd * sd)
	return max(0, (e.excess*e.base/e.noise+sure*guess)/(told+sure))
}

// scatter adds to each member's doubt the scatter of single periods beyond
// Poisson, from the errors of its forecasts so far, shrunk to the family's.
func (f *family) scatter(tracks []track, season []float64) {
	own := make([]errors, len(tracks))
	for i := range tracks {
		tracks[i].spread = make([]float64, f.periods)
	}
	var all errors
	for t := range f.periods {
		for i, track := range tracks {
			if t <= f.start[i] {
				continue
			}
			mean := track.level[t-1] * season[t]
			own[i].add(mean, track.doubt[t-1], f.y[i][t])
			all.add(mean, track.doubt[t-1], f.y[i][t])
		}
		family := all.toward(0, loose)
		for i, track := range tracks {
			track.spread[t] = track.doubt[t] + own[i].toward(family, max(.1, family))
		}
	}
}
