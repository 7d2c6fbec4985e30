package stock

// dropped is how much probability an exact enumeration may leave out in all.
const dropped = 1e-14

// state is one vector of counts on the way through the events.
type state struct {
	counts string // a byte pair a column: a key that maps can hold
	prob   float64
}

// enumerate finds every vector of job counts with its probability, event by
// event: after each, the vectors so far split into one for each outcome and
// one for none, and equal vectors are merged. It gives up, with false, once
// there are more than limit of them.
func enumerate(events []Event, types, windows, limit int) (scenarios, bool) {
	columns := columnsOf(events, windows)
	states := []state{{counts: string(make([]byte, 2*len(columns.used))), prob: 1}}
	spare := dropped
	for _, event := range events {
		states = columns.happen(states, event)
		states, spare = trim(states, spare)
		if len(states) > limit {
			return scenarios{}, false
		}
	}
	s := newScenarios(len(states), windows, coming(events, types))
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

// columns numbers the types and windows that come at all, so that states tell
// of no others.
type columns struct {
	windows int
	used    []int       // type·windows + window, in the order first met
	at      map[int]int // the other way round
}

func columnsOf(events []Event, windows int) columns {
	c := columns{windows: windows, at: make(map[int]int)}
	for _, event := range events {
		for _, o := range event {
			column := o.Type*windows + o.Window
			if _, known := c.at[column]; !known && o.Prob > 0 {
				c.at[column] = len(c.used)
				c.used = append(c.used, column)
			}
		}
	}
	return c
}

// happen lets one event happen. States keep the order in which they were first
// met, so that sums come out the same every time.
func (c columns) happen(states []state, event Event) []state {
	at := make(map[string]int, 2*len(states))
	var next []state
	add := func(counts string, prob float64) {
		if i, ok := at[counts]; ok {
			next[i].prob += prob
			return
		}
		at[counts] = len(next)
		next = append(next, state{counts, prob})
	}
	for _, st := range states {
		none := 1.0
		for _, o := range event {
			if o.Prob > 0 {
				add(oneMore(st.counts, c.at[o.Type*c.windows+o.Window]), st.prob*o.Prob)
				none -= o.Prob
			}
		}
		if none > probSlack { // less is what the outcomes' sum is off by
			add(st.counts, st.prob*none)
		}
	}
	return next
}

// oneMore is the counts with one more job of a column.
func oneMore(counts string, column int) string {
	b := []byte(counts)
	if b[2*column+1]++; b[2*column+1] == 0 {
		b[2*column]++
	}
	return string(b)
}

// trim leaves out vanishing states while the spare probability lasts.
func trim(states []state, spare float64) ([]state, float64) {
	const vanishing = dropped * 1e-5
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
