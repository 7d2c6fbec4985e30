package stock

import "slices"

// calibrated is the sampled chances made exact in the mean over the jobs: at
// each level they are mixed from those a little below and above, as much of
// each as it takes. So a sample that knows too few bad weeks is read at a lower
// level, the same in all scenarios, and still tells which of them are bad.
func (d *demand) calibrated(levels []int) chances {
	apart := d.exact.apart
	var around []int
	for _, level := range levels {
		around = append(around, level-apart, level, level+apart)
	}
	slices.Sort(around)
	around = slices.Compact(around)
	raw := d.sampled(around)
	served, jobs := d.exact.served(levels, len(d.patterns))
	all := d.newChances(len(levels))
	for p, table := range raw.patterns {
		means := raw.means(p, d.wanted[p])
		for k, level := range levels {
			at, _ := slices.BinarySearch(around, level)
			exact := means[at] // a pattern that no event asks in
			if jobs[p] > 0 {
				exact = clamp(served[p*len(levels)+k] / jobs[p])
			}
			low, high := at, at
			if exact < means[at] {
				low, _ = slices.BinarySearch(around, level-apart)
			} else {
				high, _ = slices.BinarySearch(around, level+apart)
			}
			mix := mixture(means[low], means[high], exact)
			for v := range d.vectors {
				from := table[v*len(around):]
				all.patterns[p][v*len(levels)+k] = mix.of(from[low], from[high])
			}
		}
	}
	return all
}

// means are the chances over all jobs of a pattern, by level.
func (c chances) means(pattern int, jobs []float64) []float64 {
	means, all := make([]float64, c.levels), 0.0
	for v, w := range jobs {
		if w == 0 {
			continue
		}
		all += w
		for k, chance := range c.patterns[pattern][v*c.levels : (v+1)*c.levels] {
			means[k] += w * chance
		}
	}
	for k := range means {
		if all > 0 {
			means[k] = clamp(means[k] / all)
		}
	}
	return means
}

// mix is a way to mix a lower and a higher chance: so much of the higher one,
// and the result brought down, or up to 1, by a factor.
type mix struct {
	high     float64
	down, up float64
}

// mixture finds the mix that makes a mean as wanted of the two means. Where it
// lies outside of both, the nearer one is lowered or raised all in one
// proportion.
func mixture(low, high, want float64) mix {
	switch {
	case want < low:
		return mix{0, want / low, 1}
	case want > high:
		return mix{1, 1, (1 - want) / (1 - high)}
	case high > low:
		return mix{(want - low) / (high - low), 1, 1}
	}
	return mix{0, 1, 1}
}

func (m mix) of(low, high float64) float64 {
	return 1 - (1-(low+m.high*(high-low))*m.down)*m.up
}
