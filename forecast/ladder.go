package forecast

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrLadder is wrapped by every refusal of a ladder or of a unit's state.
var ErrLadder = errors.New("cannot be forecast")

// strand is one service that covers nothing and all that cover it, each of
// them covering it directly or in turn. A ladder falls into strands, one for
// each such service; a service that covers two of them lies in both and is
// listed by the first, its owner.
type strand struct {
	services []Service
	place    []int   // of each service in the ladder
	above    [][]int // services that cover it, most covering first
	below    [][]int // services it covers, itself included
	size     []int   // how many services of the ladder it covers
	widening []int   // services of the strand, those that cover least of it first
	own      []bool  // whether this strand lists it
	foldIn   float64
}

// strands takes a ladder apart.
func (l *Ladder) strands() ([]*strand, error) {
	covers, err := l.closure()
	if err != nil {
		return nil, err
	}
	var lowest []int
	for i := range l.Services {
		if !slices.Contains(covers[i], true) {
			lowest = append(lowest, i)
		}
	}
	// The strand of the service that comes round most often owns what it
	// shares: it knows best when that is brought forward.
	slices.SortStableFunc(lowest, func(a, b int) int {
		return int(sign(float64(l.Services[a].limit() - l.Services[b].limit())))
	})
	owned := make([]bool, len(l.Services))
	var all []*strand
	for _, low := range lowest {
		all = append(all, l.strand(low, covers, owned))
	}
	return all, nil
}

// strand is the service low with all that cover it; it marks what it owns.
func (l *Ladder) strand(low int, covers [][]bool, owned []bool) *strand {
	s := &strand{foldIn: l.FoldIn}
	for i := range l.Services {
		if i == low || covers[i][low] {
			s.place = append(s.place, i)
		}
	}
	size := func(place int) (n int) {
		for _, c := range covers[place] {
			if c {
				n++
			}
		}
		return n
	}
	for _, i := range s.place {
		s.services = append(s.services, l.Services[i])
		s.size = append(s.size, size(i))
		s.own = append(s.own, !owned[i])
		owned[i] = true
		var above, below []int
		for b, j := range s.place {
			if covers[j][i] {
				above = append(above, b)
			}
			if i == j || covers[i][j] {
				below = append(below, b)
			}
		}
		slices.SortStableFunc(above, func(p, q int) int { return size(s.place[q]) - size(s.place[p]) })
		s.above = append(s.above, above)
		s.below = append(s.below, below)
	}
	for i := range s.services {
		s.widening = append(s.widening, i)
	}
	slices.SortStableFunc(s.widening, func(a, b int) int { return len(s.below[a]) - len(s.below[b]) })
	return s
}

// before tells whether a stage with the counts a can lead to one with the
// counts b: a job adds to its service's count and clears those it covers.
func (s *strand) before(a, b []int) bool {
	for _, i := range slices.Backward(s.widening) {
		if a[i] != b[i] {
			return a[i] < b[i]
		}
	}
	return false
}

// widest is the service of the strand that covers most of it.
func (s *strand) widest() int { return s.widening[len(s.widening)-1] }

// cell is the cell of hours, at most so wide, of which the hours between two
// times of the strand's lowest service are a whole number.
func (s *strand) cell(most float64) float64 {
	every := float64(s.services[s.widening[0]].Every)
	if every == 0 {
		return most
	}
	return every / math.Ceil(every/most)
}

// does tells whether a job restarts the clock of a service.
func (s *strand) does(job, service int) bool { return slices.Contains(s.below[job], service) }

// closure tells for each pair whether the first service covers the second,
// directly or by what it covers.
func (l *Ladder) closure() ([][]bool, error) {
	place := make(map[int]int, len(l.Services))
	for i, s := range l.Services {
		if _, twice := place[s.ID]; twice {
			return nil, fmt.Errorf("%w: service %d: found it twice in one ladder", ErrLadder, s.ID)
		}
		if !(s.Every >= 0) || math.IsInf(float64(s.Every), 0) || s.Months < 0 {
			return nil, fmt.Errorf("%w: service %d: found every %v hours, %d months, expected numbers from 0",
				ErrLadder, s.ID, s.Every, s.Months)
		}
		place[s.ID] = i
	}
	if !(l.FoldIn >= 0) || math.IsInf(l.FoldIn, 0) {
		return nil, fmt.Errorf("%w: found fold-in %v, expected a share from 0", ErrLadder, l.FoldIn)
	}
	covers := make([][]bool, len(l.Services))
	for i, s := range l.Services {
		covers[i] = make([]bool, len(l.Services))
		for _, id := range s.Covers {
			j, known := place[id]
			if !known {
				return nil, fmt.Errorf("%w: service %d covers %d, expected a service of the same ladder", ErrLadder, s.ID, id)
			}
			covers[i][j] = true
		}
	}
	for k := range covers {
		for i := range covers {
			for j := range covers {
				covers[i][j] = covers[i][j] || covers[i][k] && covers[k][j]
			}
		}
	}
	for i, s := range l.Services {
		if covers[i][i] {
			return nil, fmt.Errorf("%w: service %d covers itself by way of what it covers", ErrLadder, s.ID)
		}
	}
	return covers, nil
}

// limit is the hours between two times, without end where there is no limit.
func (s Service) limit() Hours {
	if s.Every > 0 {
		return s.Every
	}
	return Hours(math.Inf(1))
}

func sign(v float64) float64 {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}
