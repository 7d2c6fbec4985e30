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
	sum := 0.0
	for _, v := range d.vectors {
		sum += v.prob * d.available(v, level)
	}
	return clamp(sum)
}

// chances are the probabilities, for jobs of each pattern in each vector, of
// not having to wait for an item at each of some levels.
type chances struct {
	levels   int
	patterns [][]float64 // of level k in vector v at v·levels + k
}

func (d *demand) newChances(levels int) chances {
	c := chances{levels, make([][]float64, len(d.patterns))}
	all := make([]float64, len(d.patterns)*len(d.vectors)*levels)
	for p := range c.patterns {
		c.patterns[p], all = all[:len(d.vectors)*levels:len(d.vectors)*levels], all[len(d.vectors)*levels:]
	}
	return c
}

// chances at some levels, in steps; 0 where no job of the pattern comes.
func (d *demand) chances(levels []int) chances {
	if d.exact == nil {
		return d.sampled(levels)
	}
	return d.calibrated(d.scaled(levels))
}

func (d *demand) scaled(levels []int) []int {
	scaled := make([]int, len(levels))
	for k, level := range levels {
		scaled[k] = level * d.scale
	}
	return scaled
}

// sampled is the chances as the scenarios have them.
func (d *demand) sampled(levels []int) chances {
	all := d.newChances(len(levels))
	left := make([]int, len(levels)) // cells for the chance part
	var rest others
	for _, v := range d.byLaw() {
		vec := d.vectors[v]
		for k, level := range levels {
			left[k] = floorDiv(level-vec.sure, d.grid)
		}
		for p, pat := range d.patterns {
			if law, ok := rest.law(d, vec.law, pat.class); ok {
				pat.chances(law, left, all.patterns[p][v*len(left):(v+1)*len(left)])
			}
		}
	}
	return all
}

// chances that a job does not have to wait, where so many cells are left for
// it and for the other jobs, whose chance part has this law.
func (p pattern) chances(law cdf, left []int, into []float64) {
	for k := range into {
		into[k] = p.slack
	}
	for _, portion := range p.waited {
		if portion.waited == 0 {
			continue
		}
		for k, cells := range left {
			switch at := cells - portion.qty - law.lo; {
			case at < 0:
			case at < len(law.p):
				into[k] += portion.waited * law.p[at]
			default:
				into[k] += portion.waited
			}
		}
	}
	for k, chance := range into {
		into[k] = clamp(chance)
	}
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
	sum   sumLaw
}

// law leaves one job of a class out; class -1: none. False: there is none.
func (o *others) law(d *demand, l, class int) (cdf, bool) {
	if class < 0 {
		return d.laws[l], true
	}
	if d.counts[l][class] == 0 {
		return cdf{}, false
	}
	if o.laws == nil {
		o.laws, o.known = make([]cdf, len(d.classes)), make([]bool, len(d.classes))
	}
	if o.of != l+1 {
		o.of = l + 1
		clear(o.known)
	}
	if !o.known[class] {
		o.known[class] = true
		o.laws[class] = o.leaveOut(d, l, class, o.laws[class].p)
	}
	return o.laws[class], true
}

func (o *others) leaveOut(d *demand, l, class int, room []float64) cdf {
	if d.classes[class].hard() {
		if known, ok := d.lawWith[key(d.counts[l], class)]; ok {
			return d.laws[known]
		}
		return d.lawOf(&o.sum, d.counts[l], class)
	}
	all := d.laws[l]
	if cap(room) < len(all.p) {
		room = make([]float64, 2*len(all.p))
	}
	return all.without(d.classes[class], room)
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
