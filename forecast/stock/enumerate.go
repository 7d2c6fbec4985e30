package stock

// dropped is how much probability an exact enumeration may leave out in all,
// and each stream besides.
const dropped = 1e-14

// vanishing is the probability below which a state may be left out.
const vanishing = dropped * 1e-5

// state is one vector of counts on the way through the events.
type state struct {
	counts string // a byte pair a column: a key that maps can hold
	prob   float64
}

// burst is one way in which something brings jobs: how many, by column. It
// excludes the other ways.
type burst struct {
	jobs []jobs
	prob float64
}

// jobs are so many of one column.
type jobs struct{ column, n int }

// enumerate finds every vector of job counts with its probability, event by
// event and then stream by stream: after each, the vectors so far split into
// one for each way in which it brings jobs, and equal vectors are merged. It
// gives up, with false, once there are more than limit of them.
func enumerate(p Problem, limit int) (scenarios, bool) {
	columns := columnsOf(p)
	states := []state{{counts: string(make([]byte, 2*len(columns.used))), prob: 1}}
	spare := dropped
	for _, event := range p.Events {
		states, spare = trim(happen(states, columns.event(event)), spare)
		if len(states) > limit {
			return scenarios{}, false
		}
	}
	for _, stream := range p.Streams {
		bursts, ok := columns.stream(stream, limit)
		if !ok || len(states)*len(bursts) > limit*manyWays {
			return scenarios{}, false
		}
		states, spare = trim(happen(states, bursts), spare)
		if len(states) > limit {
			return scenarios{}, false
		}
	}
	s := newScenarios(len(states), p.Windows, p.coming())
	total := 0.0
	for _, st := range states {
		total += st.prob
	}
	for i, st := range states {
		s.prob[i] = st.prob / total
		for k, c := range columns.used {
			s.upTo[c][i] = uint16(st.counts[2*k])<<8 | uint16(st.counts[2*k+1])
		}
	}
	s.accumulate()
	return s, true
}

// manyWays is how many ways to one vector are tried for each that is allowed.
const manyWays = 64

// columns numbers the types and windows that come at all, so that states tell
// of no others.
type columns struct {
	windows int
	used    []int       // type·windows + window, in the order first met
	at      map[int]int // the other way round
}

func columnsOf(p Problem) columns {
	c := columns{windows: p.Windows, at: make(map[int]int)}
	for _, event := range p.Events {
		for _, o := range event {
			if o.Prob > 0 {
				o.jobs(func(j Job) { c.meet(j.Type, j.Window) })
			}
		}
	}
	for _, s := range p.Streams {
		for w, mean := range s.Means {
			if mean > 0 {
				c.meet(s.Type, w)
			}
		}
	}
	return c
}

func (c *columns) meet(typ, window int) {
	column := typ*c.windows + window
	if _, known := c.at[column]; !known {
		c.at[column] = len(c.used)
		c.used = append(c.used, column)
	}
}

// event is the ways in which an event brings jobs, the last of them that it
// brings none.
func (c columns) event(event Event) []burst {
	var ways []burst
	none := 1.0
	for _, o := range event {
		if o.Prob > 0 {
			way := burst{prob: o.Prob}
			o.jobs(func(j Job) { way.jobs = append(way.jobs, jobs{c.at[j.Type*c.windows+j.Window], 1}) })
			ways = append(ways, way)
			none -= o.Prob
		}
	}
	if none > probSlack { // less is what the outcomes' sum is off by
		ways = append(ways, burst{nil, none})
	}
	return ways
}

// stream is the ways in which a stream brings jobs: its number up to the last
// window, which is split, from the last window down, binomially into those of
// the window and those before it, as the windows share one rate. False: there
// are more than limit.
func (c columns) stream(s Stream, limit int) ([]burst, bool) {
	last := len(s.Means) - 1
	law, _ := s.mixing().count(s.upTo(last))
	var ways []burst
	var split func(window, left int, prob float64, so []jobs) bool
	split = func(window, left int, prob float64, so []jobs) bool {
		switch {
		case prob < vanishing:
			return true
		case left == 0:
			ways = append(ways, burst{append([]jobs(nil), so...), prob})
			return len(ways) <= limit
		}
		share := binomial(left, s.Means[window]/s.upTo(window))
		for k, part := range share.p {
			n, more := share.lo+k, so
			if n > 0 {
				more = append(so, jobs{c.at[s.Type*c.windows+window], n})
			}
			if !split(window-1, left-n, prob*part, more) {
				return false
			}
		}
		return true
	}
	for k, prob := range law.p {
		if !split(last, law.lo+k, prob, nil) {
			return nil, false
		}
	}
	return ways, true
}

// happen lets one thing happen. States keep the order in which they were first
// met, so that sums come out the same every time.
func happen(states []state, ways []burst) []state {
	at := make(map[string]int, 2*len(states))
	var next []state
	for _, st := range states {
		for _, way := range ways {
			counts, prob := with(st.counts, way.jobs), st.prob*way.prob
			if i, ok := at[counts]; ok {
				next[i].prob += prob
				continue
			}
			at[counts] = len(next)
			next = append(next, state{counts, prob})
		}
	}
	return next
}

// with is the counts with more jobs.
func with(counts string, more []jobs) string {
	if len(more) == 0 {
		return counts
	}
	b := []byte(counts)
	for _, m := range more {
		n := (int(b[2*m.column])<<8 | int(b[2*m.column+1])) + m.n
		b[2*m.column], b[2*m.column+1] = byte(n>>8), byte(n)
	}
	return string(b)
}

// trim leaves out vanishing states while the spare probability lasts.
func trim(states []state, spare float64) ([]state, float64) {
	kept := states[:0]
	for _, st := range states {
		if st.prob < vanishing && st.prob < spare {
			spare -= st.prob
			continue
		}
		kept = append(kept, st)
	}
	return kept, spare
}
