package stock

import (
	"encoding/binary"
	"slices"
)

// demand is the law of what jobs take of one item within its protection time,
// given the scenario. A part of it is certain once the counts are known (what
// every job of a type takes); the rest is a sum of independent chances. Only
// the counts of the types that use the item matter, so scenarios that agree on
// them share one vector, and types that take by the same law one class.
type demand struct {
	scale    int            // parts of a step that quantities are told in here
	grid     int            // steps in a cell of the chance part
	classes  []use          // laws of the chance part of one job, in cells
	powers   [][]pmf        // by class: of 0, 1, … jobs
	patterns []pattern      // how types wait for the item
	laws     []cdf          // of the chance part, by vector of class counts
	counts   [][]int        // of each law: jobs by class
	lawWith  map[string]int // the law of such counts, see key; nil where no class is hard
	vectors  []vector
	vectorOf []int32 // by scenario
	// wanted is how many jobs wait for the item, by pattern and vector.
	wanted [][]float64
	exact  *marginal // where the scenarios are a sample; nil: they are all
}

// vector is what scenarios with the same counts have in common. An item that
// one type takes has as many vectors as that type has counts, a dozen; only
// items that everything takes have nearly one a scenario.
type vector struct {
	prob float64 // of those scenarios together
	sure int     // steps taken for certain
	law  int
}

// pattern is how a job of some types waits for the item. A job that takes its
// share meets what the others leave: its own chance part comes out of its
// class, and what it takes comes in for certain (the size bias that makes a
// demand look larger to those who make it).
type pattern struct {
	class  int     // of the job's own chance part, which the rest must leave out; -1: none
	slack  float64 // share of jobs that do not wait
	waited use     // chance part of what is waited for, in cells
}

// newDemand works out an item's demand in all scenarios from the laws by which
// its takers take.
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

// gridOf is the cell size of the chance parts.
func gridOf(rests []use, columns [][]uint16) int {
	divisor, variance := 0, 0.0
	for i, rest := range rests {
		square := 0.0
		for _, portion := range rest {
			divisor = gcd(divisor, portion.qty)
			square += portion.prob * float64(portion.qty) * float64(portion.qty)
		}
		if square > 0 {
			variance += square * float64(slices.Max(columns[i]))
		}
	}
	return cellSize(divisor, variance)
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
	d.wanted = append(d.wanted, make([]float64, len(d.vectors)))
	return len(d.patterns) - 1
}

// gather sorts the scenarios by what they make the item's demand: first by
// class counts, which settle the law of the chance part, then by what is taken
// for certain, whose own counts do not matter but for their sum.
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

// addTimes adds so many times a column to a sum.
func addTimes(sum []int, column []uint16, times int) {
	for i, n := range column {
		sum[i] += int(n) * times
	}
}

// convolve makes the law of each vector of class counts, from the laws of 0,
// 1, 2, … jobs of each class.
func (d *demand) convolve() {
	d.powers = make([][]pmf, len(d.classes))
	for c, class := range d.classes {
		most := 0
		for _, counts := range d.counts {
			most = max(most, counts[c])
		}
		d.powers[c] = class.powers(most)
	}
	d.laws = make([]cdf, len(d.counts))
	sum := newSum(nothing)
	if slices.ContainsFunc(d.classes, use.hard) {
		d.lawWith = make(map[string]int, len(d.counts))
	}
	for l, counts := range d.counts {
		d.laws[l] = d.lawOf(&sum, counts, -1)
		if d.lawWith != nil {
			d.lawWith[key(counts, -1)] = l
		}
	}
}

// key tells counts apart, one of class `but` left out; -1: none.
func key(counts []int, but int) string {
	var k []byte
	for c, n := range counts {
		if c == but {
			n--
		}
		k = binary.AppendUvarint(k, uint64(n))
	}
	return string(k)
}

// lawOf is the law of the chance part of so many jobs by class, one of class
// `but` left out; -1: none.
func (d *demand) lawOf(sum *sumLaw, counts []int, but int) cdf {
	sum.lo, sum.p = 0, append(sum.p[:0], 1)
	for c, n := range counts {
		if c == but {
			n--
		}
		if n > 0 {
			sum.addLaw(d.powers[c][n])
		}
	}
	return sum.cdf()
}

// available is P(demand ≤ level) in a vector, level in steps.
func (d *demand) available(v vector, level int) float64 {
	return d.laws[v.law].at(floorDiv(level*d.scale-v.sure, d.grid))
}

// availability is P(demand ≤ level) over all scenarios.
func (d *demand) availability(level int) float64 {
	if d.exact != nil {
		return d.exact.availability(level * d.scale)
	}
	sum, short := 0.0, false
	for _, v := range d.vectors {
		chance := d.available(v, level)
		sum += v.prob * chance
		short = short || chance < 1
	}
	if !short { // whatever the probabilities' sum is off by
		return 1
	}
	return clamp(sum)
}

// floorDiv is a/b rounded down, b above zero.
func floorDiv(a, b int) int {
	if b == 1 { // by far the most common, and called very often
		return a
	}
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
