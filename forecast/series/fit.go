package series

import (
	"math"
	"slices"
)

// Fit is the law of each series, in their order.
func Fit(p Past) []Law {
	laws := make([]Law, len(p.Series))
	for _, members := range families(p.Series) {
		f := newFamily(p, members)
		for i, law := range f.fit() {
			laws[members[i]] = law
		}
	}
	return laws
}

// families are the series of each family, the families in the order in which
// they are first met.
func families(series []Series) [][]int {
	var groups [][]int
	at := map[int]int{}
	for i, s := range series {
		k, met := at[s.Family]
		if !met {
			k = len(groups)
			at[s.Family] = k
			groups = append(groups, nil)
		}
		groups[k] = append(groups[k], i)
	}
	return groups
}

// candidate is a method with its memory.
type candidate struct {
	method Method
	memory float64
}

var candidates = []candidate{
	{GammaPoisson, .8}, {GammaPoisson, .9}, {GammaPoisson, .95}, {GammaPoisson, .98}, {GammaPoisson, 1},
	{GammaTide, .8}, {GammaTide, .9}, {GammaTide, .95}, {GammaTide, .98}, {GammaTide, 1},
	{CrostonNB, .9}, {SBANB, .9}, {TSBNB, .9}, {SESNB, .9},
}

// track is what a candidate held of a series after each period.
type track struct {
	level  []float64 // expected a period at season factor 1
	doubt  []float64 // squared coefficient of variation of the level
	spread []float64 // that of the rate of one coming period
}

// family is a family's past, ready to be judged.
type family struct {
	past    Past
	periods int
	members []Series
	y       [][]float64 // by member and period
	total   []float64   // by period
	season  []float64   // by period, factor as known before the first origin
	factor  []float64   // by phase, as known at the end; nil without a season
	start   []int       // by member, the first period that counts
	origins []int       // the periods after which the methods are judged
}

func newFamily(p Past, members []int) *family {
	f := &family{past: p}
	for _, i := range members {
		f.members = append(f.members, p.Series[i])
		f.periods = max(f.periods, len(p.Series[i].Counts))
	}
	f.total = make([]float64, f.periods)
	for _, s := range f.members {
		y := make([]float64, f.periods)
		for t, n := range s.Counts {
			y[t] = float64(max(n, 0))
			f.total[t] += y[t]
		}
		f.y = append(f.y, y)
		f.start = append(f.start, startOf(y))
	}
	f.origins = originsOf(f.periods)
	f.factor = seasonOf(f.total, p.Phase, p.Phases, f.periods)
	known := f.factor
	if len(f.origins) > 0 && f.origins[0] >= p.Phases {
		known = seasonOf(f.total, p.Phase, p.Phases, f.origins[0])
	}
	f.season = f.unfold(known)
	return f
}

// unfold is the factor of each period.
func (f *family) unfold(factor []float64) []float64 {
	season := make([]float64, f.periods)
	for t := range season {
		season[t] = 1
		if factor != nil && t < len(f.past.Phase) {
			if phase := f.past.Phase[t]; phase >= 0 && phase < len(factor) {
				season[t] = factor[phase]
			}
		}
	}
	return season
}

// unlikely is the chance below which a run of zeros before the first count is
// taken for a time when the thing did not exist yet.
const unlikely = .01

// startOf is the first period that counts: 0, or the one of the first count
// where a run of zeros before it is unlikely at the rate that came after it.
func startOf(y []float64) int {
	first := slices.IndexFunc(y, func(v float64) bool { return v > 0 })
	if first < 1 || first > len(y)-3 {
		return 0
	}
	met := 0.0
	for _, v := range y[first+1:] {
		if v > 0 {
			met++
		}
	}
	if met < 3 || math.Exp(-met/float64(len(y)-first-1)*float64(first)) > unlikely {
		return 0
	}
	return first
}

// ahead is how many periods ahead a forecast is judged.
const ahead = 4

// originsOf are up to forty points in the last two thirds of the past.
func originsOf(periods int) []int {
	first, end := max(periods/3, 8), periods-ahead
	if end < first {
		return nil
	}
	var origins []int
	every := max(1, (end-first+40)/40)
	for t := end; t >= first; t -= every {
		origins = append(origins, t)
	}
	slices.Reverse(origins)
	return origins
}

func (f *family) fit() []Law {
	scores := make([][]float64, len(candidates)) // by candidate and member
	for c, candidate := range candidates {
		scores[c] = f.judge(f.tracks(candidate, f.season), candidate)
	}
	relative, mean := relate(scores, len(f.members))
	laws := make([]Law, len(f.members))
	final := map[candidate][]track{}
	season := f.unfold(f.factor)
	for i := range laws {
		best := f.choose(relative, mean, i)
		c := candidates[best]
		if final[c] == nil {
			final[c] = f.tracks(c, season)
		}
		laws[i] = f.law(i, c, final[c][i])
		for k, c := range candidates {
			laws[i].Scores = append(laws[i].Scores, Scored{c.method, c.memory, scores[k][i], mean[k]})
		}
	}
	return laws
}

func (f *family) law(i int, c candidate, t track) Law {
	law := Law{Method: c.method, Memory: c.memory, Shape: math.Inf(1), Origins: len(f.origins)}
	law.Periods = f.periods - f.start[i]
	for _, v := range f.y[i] {
		law.Total += int(v)
	}
	switch {
	case f.periods == 0:
		return law
	case law.Total == 0:
		law.Basis = NoCount
	case law.Total < few:
		law.Basis = Borrowed
	case f.start[i] > 0:
		law.Basis = Late
	default:
		law.Basis = Own
	}
	law.Rate, law.Shape = last(t.level), size(last(t.spread))
	if !c.method.smoother() {
		law.Factor = slices.Clone(f.factor)
	}
	return law
}

// few counts are not enough to tell a rate from.
const few = 5

// enough is how many counts a series needs to weigh as much as its family in
// the choice of a method.
const enough = 30

// choose is the candidate with the best score, own and family's. A series with
// few counts is left to those that borrow the family's rate.
func (f *family) choose(relative [][]float64, mean []float64, i int) int {
	total := 0.0
	for _, v := range f.y[i] {
		total += v
	}
	if len(f.origins) == 0 {
		return slices.Index(candidates, candidate{GammaPoisson, .98})
	}
	own := total / (total + enough)
	best, least := 0, math.Inf(1)
	for c, candidate := range candidates {
		if total < few && candidate.method.smoother() {
			continue
		}
		if score := own*relative[c][i] + (1-own)*mean[c]; score < least-1e-12 {
			best, least = c, score
		}
	}
	return best
}

// relate divides the scores of a member by their mean over the candidates, and
// averages over the members.
func relate(scores [][]float64, members int) (relative [][]float64, mean []float64) {
	mean = make([]float64, len(scores))
	for c := range scores {
		relative = append(relative, make([]float64, members))
		for i := range members {
			all := 0.0
			for _, s := range scores {
				all += s[i] / float64(len(scores))
			}
			if all > 0 {
				relative[c][i] = scores[c][i] / all
			}
			mean[c] += relative[c][i] / float64(members)
		}
	}
	return relative, mean
}

// judge is the mean score of a candidate on each member.
func (f *family) judge(tracks []track, c candidate) []float64 {
	scores := make([]float64, len(tracks))
	for i, track := range tracks {
		for _, origin := range f.origins {
			for h := 1; h <= ahead; h *= 2 {
				factor := 1.0
				if !c.method.smoother() {
					factor = f.season[origin+h-1]
				}
				scores[i] += rps(track.level[origin-1]*factor, size(track.spread[origin-1]), int(f.y[i][origin+h-1]))
			}
		}
		scores[i] /= float64(max(1, 3*len(f.origins)))
	}
	return scores
}
