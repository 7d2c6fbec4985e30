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
	{GammaPoisson, 1}, {GammaPoisson, .98}, {GammaPoisson, .95}, {GammaPoisson, .9}, {GammaPoisson, .8},
	{GammaTide, 1}, {GammaTide, .98}, {GammaTide, .95}, {GammaTide, .9}, {GammaTide, .8},
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
	scores := make([][][]float64, len(candidates))
	for c, candidate := range candidates {
		scores[c] = f.judge(f.tracks(candidate, f.season), candidate)
	}
	relative, together := relate(scores, len(f.origins))
	laws := make([]Law, len(f.members))
	final := map[candidate][]track{}
	season := f.unfold(f.factor)
	for i := range laws {
		c := f.choose(relative, together, i)
		if final[c] == nil {
			final[c] = f.tracks(c, season)
		}
		laws[i] = f.law(i, c, final[c][i])
		for k, c := range candidates {
			laws[i].Scores = append(laws[i].Scores, Scored{c.method, c.memory, mean(scores[k][i]), mean(together[k])})
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
// the choice of a method: methods differ by a few percent, which a series alone
// shows only after some hundred counts.
const enough = 200

// choose is the candidate for a member: the first in the order from steady to
// lively whose score, own and family's, is within one standard error of the
// best (Breiman, Friedman, Olshen & Stone, Classification and Regression Trees,
// 1984). A series with few counts is left to those that borrow the family's
// rate.
func (f *family) choose(relative [][][]float64, together [][]float64, i int) candidate {
	total := 0.0
	for _, v := range f.y[i] {
		total += v
	}
	own := total / (total + enough)
	blended := make([][]float64, len(candidates))
	best := 0
	for c := range candidates {
		blended[c] = make([]float64, len(f.origins))
		for o := range f.origins {
			blended[c][o] = own*relative[c][i][o] + (1-own)*together[c][o]
		}
		if (total >= few || !candidates[c].method.smoother()) && mean(blended[c]) < mean(blended[best]) {
			best = c
		}
	}
	block := 1
	for block < len(f.origins) && f.origins[block]-f.origins[0] < ahead {
		block++
	}
	for c := range best {
		if within(blended[c], blended[best], block) {
			return candidates[c]
		}
	}
	return candidates[best]
}

// sure is how many standard errors a livelier method must be better by.
const sure = 2

// within tells whether scores are on average not above the best ones by more
// than the standard errors of their mean difference. Origins close to each
// other judge by the same periods; the error is that of means of blocks.
func within(scores, best []float64, block int) bool {
	n, sum, squares := 0.0, 0.0, 0.0
	for from := 0; from < len(scores); from += block {
		to := min(from+block, len(scores))
		off := mean(scores[from:to]) - mean(best[from:to])
		n, sum, squares = n+1, sum+off, squares+off*off
	}
	variance := (squares - sum*sum/n) / (n - 1)
	return n < 2 || sum <= 0 || sum*sum/n <= sure*sure*variance
}

// mean is 0 of nothing.
func mean(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / float64(max(1, len(values)))
}

// relate divides the scores of each member by their mean over candidates and
// origins, and averages over the members.
func relate(scores [][][]float64, origins int) (relative [][][]float64, together [][]float64) {
	relative, together = make([][][]float64, len(scores)), make([][]float64, len(scores))
	for c := range scores {
		together[c] = make([]float64, origins)
	}
	for i := range scores[0] {
		all := 0.0
		for c := range scores {
			all += mean(scores[c][i]) / float64(len(scores))
		}
		for c := range scores {
			row := make([]float64, origins)
			for o, score := range scores[c][i] {
				if all > 0 {
					row[o] = score / all
				}
				together[c][o] += row[o] / float64(len(scores[c]))
			}
			relative[c] = append(relative[c], row)
		}
	}
	return relative, together
}

// judge is the score of a candidate on each member, by origin.
func (f *family) judge(tracks []track, c candidate) [][]float64 {
	scores := make([][]float64, len(tracks))
	for i, track := range tracks {
		scores[i] = make([]float64, len(f.origins))
		for o, origin := range f.origins {
			size := size(track.spread[origin-1])
			for h := 1; h <= ahead; h *= 2 {
				factor := 1.0
				if !c.method.smoother() {
					factor = f.season[origin+h-1]
				}
				scores[i][o] += rps(track.level[origin-1]*factor, size, int(f.y[i][origin+h-1])) / 3
			}
		}
	}
	return scores
}
