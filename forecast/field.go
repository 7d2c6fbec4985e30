package forecast

import (
	"math"
	"sync"
	"sync/atomic"
)

// field is Q(a, x) for so many levels x one after another, each a whole number
// of cells, over equally spaced shapes a. A row of a front asks for many levels
// at one shape after another; all of them are then read side by side.
type field struct {
	bottom int              // knot of the first row
	starts [fieldLevels]int // the row up to which next to nothing has passed a level
	ends   [fieldLevels]int // and from which next to all has
	rows   [][fieldLevels]float64
}

// fieldLevels is how many levels lie in one field; fieldKnots how many shapes
// to one: with four points around it a value is within 1e-5, as the test of
// fields holds.
const fieldLevels, fieldKnots = 32, 8

// leastField is the nearest level that is read so, in spreads: below it Q rises
// too sharply from shape 0.
const leastField = 0.9

// mostFields bounds the levels that are read so; farther ones are rare.
const mostFields = 6

// newField holds the levels of first, first+1, … cells.
func newField(first int, cellZ float64) *field {
	f := &field{}
	nearest, farthest := float64(first)*cellZ, float64(first+fieldLevels-1)*cellZ
	f.bottom = int(fieldKnots * max(0, nearest-6*math.Sqrt(nearest)-1))
	f.rows = make([][fieldLevels]float64, int(fieldKnots*(farthest+6*math.Sqrt(farthest)+8))-f.bottom)
	for k := range fieldLevels {
		rising := newRising(float64(f.bottom)/fieldKnots, float64(first+k)*cellZ, fieldKnots)
		f.ends[k] = len(f.rows) - 3
		for j := range f.rows {
			q := rising.next()
			f.rows[j][k] = q
			if q < nearlyOne/100 {
				f.starts[k] = j
			} else if q > 1-nearlyOne {
				f.ends[k] = min(f.ends[k], j)
			}
		}
	}
	return f
}

// add adds to out[p], for each rising shape, what of the mass of the levels from
// low to below high has passed, and returns how many shapes it came to before
// all had, and how much has passed in the end.
func (f *field) add(out, shapes []float64, from float64, mass *[fieldLevels]float64, low, high int) (int, float64) {
	start, end := f.starts[low], f.ends[high-1]
	before := 0.0
	for p, shape := range shapes {
		u := (shape-from)*fieldKnots - float64(f.bottom)
		j := int(u)
		switch {
		case !(u > 0) || j < start:
			continue
		case j >= end:
			return p, total(mass[low:high])
		}
		j = max(j-1, 0)
		before = f.sum(j, u-float64(j+1), mass, low, high)
		out[p] += before
	}
	return len(shapes), before
}

// sum is what has passed by Lagrange's polynomial through the rows from j on,
// u knots after the second of them.
func (f *field) sum(j int, u float64, mass *[fieldLevels]float64, low, high int) float64 {
	m := mass[low:high]
	a, b, c, d := f.rows[j][low:high], f.rows[j+1][low:high], f.rows[j+2][low:high], f.rows[j+3][low:high]
	a, b, c, d = a[:len(m)], b[:len(m)], c[:len(m)], d[:len(m)]
	var atA, atB, atC, atD float64
	for k, q := range m {
		atA += q * a[k]
		atB += q * b[k]
		atC += q * c[k]
		atD += q * d[k]
	}
	return -u*(u-1)*(u-2)/6*atA + (u+1)*(u-1)*(u-2)/2*atB - (u+1)*u*(u-2)/2*atC + (u+1)*u*(u-1)/6*atD
}

// rising gives Q(a, x), Q(a+1/per, x), Q(a+2/per, x), …: the first per of them
// straight, each later one from the one a whole shape before (DLMF 8.8.6).
type rising struct {
	x, a, step float64
	at         int
	q, term    []float64 // by part of a whole shape: the last value, and what the next adds
}

func newRising(a, x float64, per int) *rising {
	r := &rising{x: x, a: a, step: 1 / float64(per), q: make([]float64, per), term: make([]float64, per)}
	for i := range r.q {
		from := a + float64(i)*r.step
		r.q[i] = upperGamma(from, x)
		r.term[i] = gammaTerm(from, x, logGammaOf(from+1))
	}
	return r
}

func (r *rising) next() float64 {
	i := r.at % len(r.q)
	value := r.q[i]
	r.q[i] = min(value+r.term[i], 1)
	r.term[i] *= r.x / (r.a + float64(r.at)*r.step + 1)
	r.at++
	return value
}

// fieldKey is the field of the levels from so many times fieldLevels on, each
// so many cells, in spreads.
type fieldKey struct {
	number int
	cellZ  float64
}

// fields makes each field once; safe for concurrent use.
type fields struct {
	byKey sync.Map // fieldKey to *field
	size  *atomic.Int64
}

func (s *fields) at(number int, cellZ float64) *field {
	key := fieldKey{number, cellZ}
	if f, ok := s.byKey.Load(key); ok {
		return f.(*field)
	}
	made := newField(number*fieldLevels+1, cellZ)
	f, _ := s.byKey.LoadOrStore(key, made)
	s.size.Add(int64(len(made.rows) * fieldLevels))
	return f.(*field)
}
