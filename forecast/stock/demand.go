package stock

import (
	"math"
	"slices"
)

// demand is the law of what jobs take of one item within its protection time,
// given the scenario. A part of it is certain once the counts are known (what
// every job of a type takes); the rest is a sum of independent chances. Only
// the counts of the types that use the item matter, so scenarios that agree on
// them share one vector, and types that take by the same law one class.
type demand struct {
	grid     int       // steps in a cell of the chance part
	classes  []use     // laws of the chance part of one job, in cells
	powers   [][]pmf   // by class: of 0, 1, … jobs
	patterns []pattern // how types wait for the item
	laws     []cdf     // of the chance part, by vector of class counts
	counts   [][]int   // of each law: jobs by class
	vectors  []vector
	vectorOf []int32 // by scenario
}

// vector is what scenarios with the same counts have in common.
type vector struct {
	prob float64 // of those scenarios together
	sure int     // steps taken for certain
	law  int
}

// pattern is how a job of some types waits for the item.
type pattern struct {
	class  int     // of the job's own chance part, which the rest must leave out; -1: none
	slack  float64 // share of jobs that do not wait
	waited use     // chance part of what is waited for, in cells
}

// cells is about how finely a chance part is told apart at most. Only what is
// measured out in small steps and not by every job comes near.
const cells = 1024

func newDemand(takers []typeUse, window int, s scenarios) *demand {
	d := &demand{}
	rests := make([]use, len(takers))
	leasts := make([]int, len(takers))
	for i, t := range takers {
		leasts[i], rests[i] = t.use.certain()
	}
	columns := make([][]uint16, len(takers))
	for i, t := range takers {
		columns[i] = s.upTo[t.typ*s.windows+window]
	}
	d.grid = gridOf(rests, columns)
	classOf := make([]int, len(takers))
	for i, rest := range rests {
		classOf[i] = d.classFor(coarser(rest, d.grid))
	}
	d.gather(s, columns, leasts, classOf)
	d.convolve()
	return d
}

// gridOf is the number of steps in a cell: the largest that divides all sizes,
// or more where even then the demand would spread over too many cells.
func gridOf(rests []use, columns [][]uint16) int {
	divisor, variance := 0, 0.0
	for i, rest := range rests {
		square := 0.0
		for _, portion := range rest {
			divisor = gcd(divisor, portion.qty)
			square += portion.prob * float64(portion.qty) * float64(portion.qty)
		}
		if square > 0 && len(columns[i]) > 0 {
			variance += square * float64(slices.Max(columns[i]))
		}
	}
	const spread = 16 // standard deviations from one end of a law to the other
	coarse := math.Ceil(spread * math.Sqrt(variance) / cells)
	return max(1, divisor, int(coarse))
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// coarser is the law in cells; a size between two cells is spread over both so
// that its mean is kept.
func coarser(u use, grid int) use {
	if grid == 1 {
		return u
	}
	at := make(map[int]int)
	var sum use
	for _, p := range u {
		for _, s := range Spread(float64(p.qty) / float64(grid)) {
			i, ok := at[s.Qty]
			if !ok {
				i = len(sum)
				at[s.Qty] = i
				sum = append(sum, portion{qty: s.Qty})
			}
			sum[i].prob += p.prob * s.Prob
			sum[i].waited += p.waited * s.Prob
		}
	}
	slices.SortFunc(sum, func(a, b portion) int { return a.qty - b.qty })
	return sum
}

// classFor finds the class of a chance part, or opens it; -1: nothing is left
// to chance.
func (d *demand) classFor(rest use) int {
	if rest.sure() {
		return -1
	}
	for c, known := range d.classes {
		if known.sameTake(rest) {
			return c
		}
	}
	d.classes = append(d.classes, rest)
	return len(d.classes) - 1
}

// patternFor finds the pattern of a type, or opens it. A job that comes after
// the item's protection time is not part of its demand and takes nothing
// there: it is held to how the item stands within that time.
func (d *demand) patternFor(u use, within bool) int {
	_, rest := u.certain()
	rest = coarser(rest, d.grid)
	p := pattern{class: d.classFor(rest), slack: u.slack(), waited: rest}
	if !within || p.class < 0 {
		p.class, p.waited = -1, use{{qty: 0, waited: 1 - p.slack}}
	}
	for i, known := range d.patterns {
		if known.class == p.class && slices.Equal(known.waited, p.waited) {
			return i
		}
	}
	d.patterns = append(d.patterns, p)
	return len(d.patterns) - 1
}

// gather sorts the scenarios by what they make the item's demand.
func (d *demand) gather(s scenarios, columns [][]uint16, leasts, classOf []int) {
	n := len(s.prob)
	byLaw := partition{of: make([]int32, n), n: 1}
	classCounts := make([][]int, len(d.classes))
	for c := range d.classes {
		counts := make([]int, n)
		for i, column := range columns {
			if classOf[i] == c {
				addTimes(counts, column, 1)
			}
		}
		classCounts[c] = counts
		byLaw.refine(counts)
	}
	sure, divisor := make([]int, n), 0
	for i, column := range columns {
		if leasts[i] > 0 {
			addTimes(sure, column, leasts[i])
			divisor = gcd(divisor, leasts[i])
		}
	}
	byVector := partition{of: slices.Clone(byLaw.of), n: byLaw.n}
	if divisor > 0 {
		scaled := make([]int, n)
		for i, q := range sure {
			scaled[i] = q / divisor
		}
		byVector.refine(scaled)
	}
	d.vectorOf = byVector.of
	d.vectors = make([]vector, byVector.n)
	d.counts = make([][]int, byLaw.n)
	for i, v := range byVector.of {
		law := int(byLaw.of[i])
		d.vectors[v].prob += s.prob[i]
		d.vectors[v].sure, d.vectors[v].law = sure[i], law
		if d.counts[law] == nil {
			d.counts[law] = make([]int, len(d.classes))
			for c := range d.classes {
				d.counts[law][c] = classCounts[c][i]
			}
		}
	}
}

func addTimes(sum []int, column []uint16, times int) {
	for i, n := range column {
		sum[i] += int(n) * times
	}
}

// convolve makes the law of each vector of class counts.
func (d *demand) convolve() {
	d.powers = make([][]pmf, len(d.classes))
	for c, class := range d.classes {
		most := 0
		for _, counts := range d.counts {
			most = max(most, counts[c])
		}
		d.powers[c] = powers(class.pmf(), most)
	}
	d.laws = make([]cdf, len(d.counts))
	for l, counts := range d.counts {
		d.laws[l] = d.lawOf(counts, -1)
	}
}

// lawOf is the law of the chance part of so many jobs by class, one of class
// `but` left out; -1: none.
func (d *demand) lawOf(counts []int, but int) cdf {
	sum := nothing
	for c, n := range counts {
		if c == but {
			n--
		}
		if n > 0 {
			sum = sum.plus(d.powers[c][n])
		}
	}
	return sum.cdf()
}

// available is P(demand ≤ level) in a vector.
func (d *demand) available(v vector, level int) float64 {
	return d.laws[v.law].at(floorDiv(level-v.sure, d.grid))
}

// availability is P(demand ≤ level) over all scenarios.
func (d *demand) availability(level int) float64 {
	sum := 0.0
	for _, v := range d.vectors {
		sum += v.prob * d.available(v, level)
	}
	return clamp(sum)
}

// chances are, for each pattern and each of the levels, by vector, the
// probability that a job does not have to wait for the item: of pattern p at
// levels[k] at p·len(levels)+k. Where no job of the pattern comes it is 0.
func (d *demand) chances(levels []int) [][]float64 {
	columns := make([][]float64, len(d.patterns)*len(levels))
	for c := range columns {
		columns[c] = make([]float64, len(d.vectors))
	}
	var rest others
	for _, v := range d.byLaw() {
		vec := d.vectors[v]
		for p, pat := range d.patterns {
			law, ok := rest.law(d, vec.law, pat.class)
			for k, level := range levels {
				if ok {
					columns[p*len(levels)+k][v] = pat.chance(law, floorDiv(level-vec.sure, d.grid))
				}
			}
		}
	}
	return columns
}

// chance that a job does not have to wait, where y cells are left for it and
// the other jobs' chance part has this law.
func (p pattern) chance(law cdf, y int) float64 {
	chance := p.slack
	for _, portion := range p.waited {
		if portion.waited > 0 {
			chance += portion.waited * law.at(y-portion.qty)
		}
	}
	return clamp(chance)
}

// byLaw lists the vectors so that those of one law stand together.
func (d *demand) byLaw() []int {
	order := make([]int, len(d.vectors))
	for v := range order {
		order[v] = v
	}
	slices.SortStableFunc(order, func(a, b int) int { return d.vectors[a].law - d.vectors[b].law })
	return order
}

// others keeps, for the vector of class counts at hand, the laws of all its
// jobs but one, by the class of that one.
type others struct {
	of    int // the vector's law + 1
	laws  []cdf
	known []bool
}

func (o *others) law(d *demand, l, class int) (cdf, bool) {
	if class < 0 {
		return d.laws[l], true
	}
	if d.counts[l][class] == 0 {
		return cdf{}, false
	}
	if o.of != l+1 {
		o.of = l + 1
		o.known = append(o.known[:0], make([]bool, len(d.classes))...)
	}
	if o.laws == nil {
		o.laws = make([]cdf, len(d.classes))
	}
	if !o.known[class] {
		o.known[class] = true
		o.laws[class] = d.but(l, class, o.laws[class].p)
	}
	return o.laws[class], true
}

// but is the law of a vector's chance part without one job of a class.
func (d *demand) but(l, class int, into []float64) cdf {
	all := d.laws[l]
	if cap(into) < len(all.p) {
		into = make([]float64, 2*len(all.p))
	}
	if law, ok := all.without(d.classes[class], into); ok {
		return law
	}
	return d.lawOf(d.counts[l], class)
}

func floorDiv(a, b int) int {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
