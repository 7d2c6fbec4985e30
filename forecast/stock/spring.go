package stock

import "slices"

// spring is a stream made ready to be drawn from.
type spring struct {
	Stream
	number table           // of the jobs of all windows
	parts  []map[int]table // by window and jobs up to its end: of the jobs in it
}

func newSpring(s Stream) *spring {
	law, _ := s.mixing().count(s.upTo(len(s.Means) - 1))
	return &spring{s, law.table(), make([]map[int]table, len(s.Means))}
}

// part is the law of how many of n jobs up to the end of a window fall into it.
func (s *spring) part(window, n int) table {
	if s.parts[window] == nil {
		s.parts[window] = map[int]table{}
	}
	part, known := s.parts[window][n]
	if !known {
		part = binomial(n, s.Means[window]/s.upTo(window)).table()
		s.parts[window][n] = part
	}
	return part
}

// stream draws one stream: how many jobs come in all, evenly over the scenarios
// ordered by the jobs of the type so far; then how many of them in the last
// window, evenly over the scenarios ordered by that number; and so on down.
func (d *draw) stream(s *spring) {
	last := len(s.Means) - 1
	for last >= 0 && s.Means[last] == 0 {
		last--
	}
	if last < 0 {
		return
	}
	sorted, counts := d.by(s.Type)
	left := make([]int, d.n)
	d.evenly(sorted, func(i int, u float64) {
		left[i] = s.number.at(u)
		counts[i] += left[i]
	})
	var order []int
	for window := last; window >= 0 && slices.Max(left) > 0; window-- {
		if s.Means[window] == 0 {
			continue
		}
		column := d.upTo[s.Type*d.windows+window]
		if s.Means[window] == s.upTo(window) { // the first that brings any
			for i, n := range left {
				column[d.from+i] += uint16(n)
			}
			return
		}
		if order == nil {
			order = slices.Clone(sorted)
		}
		d.scratch.sort(order, left)
		d.evenly(order, func(i int, u float64) {
			n := s.part(window, left[i]).at(u)
			column[d.from+i] += uint16(n)
			left[i] -= n
		})
	}
}
