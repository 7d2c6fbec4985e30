package stock

import "slices"

// chances are the probabilities, for jobs of each pattern in each vector, of
// not having to wait for an item at each of some levels.
type chances struct {
	levels   int
	patterns [][]float64 // of level k in vector v at v·levels + k
}

// newChances makes room for the chances at so many levels.
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

// scaled is levels in the parts of a step that quantities are told in here.
func (d *demand) scaled(levels []int) []int {
	scaled := make([]int, len(levels))
	for k, level := range levels {
		scaled[k] = level * d.scale
	}
	return scaled
}

// sampled is the chances as the scenarios have them: what the level leaves
// after all that is taken for certain, against the law of the rest.
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
// it and for the other jobs, whose chance part has this law. It is called for
// every vector, pattern and block of levels, so it is one plain loop over a
// table and not a call a level.
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

// leaveOut may hand out a law that is the demand's own, but only for a hard
// class, for which nothing is written into room.
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
