package series

// tracks are what a candidate holds of each member after each period, from
// nothing later than that period, the season aside.
func (f *family) tracks(c candidate, season []float64) []track {
	tracks := make([]track, len(f.members))
	prior := f.prior(c.memory, season)
	for i, y := range f.y {
		y = y[f.start[i]:]
		pad := make([]float64, f.start[i], f.periods)
		var t track
		switch c.method {
		case GammaPoisson:
			t = f.filter(i, c.memory, prior, season)
		case CrostonNB:
			t.level = append(pad, crostonPath(y, 1-c.memory)...)
		case SBANB:
			t.level = append(pad, crostonPath(y, 1-c.memory)...)
			for k := range t.level {
				t.level[k] *= (1 + c.memory) / 2
			}
		case TSBNB:
			t.level = append(pad, tsbPath(y, 1-c.memory, 1-c.memory)...)
		case SESNB:
			t.level = append(pad, sesPath(y, 1-c.memory)...)
		}
		if c.method != GammaPoisson {
			t.doubt = make([]float64, f.periods)
		}
		tracks[i] = t
	}
	if c.method != GammaPoisson {
		season = f.unfold(nil)
	}
	f.spread(tracks, season)
	return tracks
}

// prior is the gamma law of the members' rates after each period.
type prior struct {
	mean  []float64
	shape float64
}

// prior is learnt from the family's own counts, weighted as the candidate does.
func (f *family) prior(memory float64, season []float64) prior {
	p := prior{mean: make([]float64, f.periods)}
	sum, weight := 0.0, 0.0
	for t := range p.mean {
		sum = memory*sum + f.total[t]
		weight = memory*weight + season[t]*float64(len(f.members))
		p.mean[t] = (sum + .5) / weight
	}
	// Moments over the whole past, beside four members whose rates vary as much
	// as they are high.
	whole := 0.0
	for _, factor := range season {
		whole += factor
	}
	all := 0.0
	for _, total := range f.total {
		all += total
	}
	mean := all / float64(len(f.members))
	excess, base := 4*mean*mean, 4*mean*mean
	for _, y := range f.y {
		own := 0.0
		for _, v := range y {
			own += v
		}
		excess += (own-mean)*(own-mean) - mean
		base += mean * mean
	}
	p.shape = 1
	if base > 0 {
		p.shape = 1 / max(.02, min(10, excess/base))
	}
	return p
}

// filter is the conjugate gamma-Poisson filter of Harvey & Fernandes, Time
// series models for count or qualitative observations, Journal of Business &
// Economic Statistics 7 (1989), with the difference that the family's law is
// not forgotten with the counts: a series of which nothing is heard any more
// goes back to it, not to 0.
func (f *family) filter(i int, memory float64, p prior, season []float64) track {
	t := track{level: make([]float64, f.periods), doubt: make([]float64, f.periods)}
	a, b := 0.0, 0.0
	for k := range t.level {
		if k >= f.start[i] {
			a, b = memory*a+f.y[i][k], memory*b+season[k]
		}
		t.level[k] = (p.shape + a) / (p.shape/p.mean[k] + b)
		t.doubt[k] = 1 / (p.shape + a)
	}
	return t
}

// alike is how many periods a series needs to tell its own scatter as well as
// its family does.
const alike = 26

// spread adds to each member's doubt the scatter of single periods beyond
// Poisson, from the errors of its forecasts so far, shrunk to the family's.
func (f *family) spread(tracks []track, season []float64) {
	excess, base := make([]float64, len(tracks)), make([]float64, len(tracks))
	allExcess, allBase := 0.0, 0.0
	for i := range tracks {
		tracks[i].spread = make([]float64, f.periods)
	}
	for t := range f.periods {
		for i, track := range tracks {
			if t <= f.start[i] {
				continue
			}
			mean := track.level[t-1] * season[t]
			off := f.y[i][t] - mean
			e := off*off - mean - mean*mean*track.doubt[t-1]
			excess[i] += e
			base[i] += mean * mean
			allExcess += e
			allBase += mean * mean
		}
		family := 0.0
		if allBase > 0 {
			family = max(0, allExcess/allBase)
		}
		for i, track := range tracks {
			borrowed := alike * track.level[t] * track.level[t]
			own := family
			if base[i]+borrowed > 0 {
				own = max(0, (excess[i]+borrowed*family)/(base[i]+borrowed))
			}
			track.spread[t] = track.doubt[t] + own
		}
	}
}
