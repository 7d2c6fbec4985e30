package forecast

// Stream is jobs that come singly and unforeseen, at a rate that is not known
// exactly: in each week a Poisson number of them, with the week's mean times
// one gamma variable with mean 1 that holds for all weeks. The number in any
// span is negative binomial with size Shape.
type Stream struct {
	Model    int
	Services []int     // IDs of the services whose bill of materials a job takes
	Means    []float64 // expected jobs in each week of the horizon
	Shape    float64   // of the gamma variable; 0 or +Inf where the rate is known
}

// flow is what one stream brings in a span: expected jobs by kind.
type flow struct {
	shape float64
	kinds []int
	means []float64
}

// addStreams ties streams to lines, as NewTakings does futures.
func (t *Takings) addStreams(streams []Stream, touched [][]int, kinds func(services []int, model int) []int) {
	t.streams, t.streamKinds = streams, make([][]int, len(streams))
	t.streamTakers = make([][]int, len(t.takes))
	for i, s := range streams {
		if len(s.Services) == 0 {
			continue
		}
		t.streamKinds[i] = kinds(s.Services, s.Model)
		note(t.streamTakers, i, t.streamKinds[i], touched)
	}
}

// flows are what the streams bring in a span.
func (t *Takings) flows(span Span) []flow {
	flows := make([]flow, len(t.streams))
	for i, s := range t.streams {
		f := flow{shape: s.Shape}
		kinds := t.streamKinds[i]
		for week := span.first; week < min(span.end(), len(s.Means), len(kinds)); week++ {
			mean := span.Share(week) * s.Means[week]
			if !(mean > 0) {
				continue
			}
			if n := len(f.kinds); n > 0 && f.kinds[n-1] == kinds[week] {
				f.means[n-1] += mean
				continue
			}
			f.kinds, f.means = append(f.kinds, kinds[week]), append(f.means, mean)
		}
		flows[i] = f
	}
	return flows
}

// law is that of what a stream takes of an item. Given the gamma variable the
// jobs of each kind are Poisson, so that each job is of a kind with a chance
// in proportion to the kind's mean.
func (f flow) law(takes []*take) PMF {
	var laws []PMF
	var means []float64
	all := 0.0
	for i, kind := range f.kinds {
		if takes[kind] != nil {
			laws, means = append(laws, takes[kind].law), append(means, f.means[i])
			all += f.means[i]
		}
	}
	if len(laws) == 0 {
		return PMF{}
	}
	for i := range means {
		means[i] /= all
	}
	return Compound(all, f.shape, mix(laws, means))
}
