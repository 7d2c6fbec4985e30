package forecast

// take is the law of what a job of one kind uses of an item.
type take struct {
	kind   int
	values []int // rising
	probs  []float64
	step   int // all values are multiples of it
	law    PMF // the same, whole
}

func newTake(kind int, law PMF) take {
	t := take{kind: kind, law: law}
	for value, prob := range law.Each {
		if prob > 0 {
			t.values, t.probs = append(t.values, value), append(t.probs, prob)
			t.step = gcd(t.step, value)
		}
	}
	return t
}

// chain works out what one unit takes of an item after another. It is one
// worker's own: what use returns holds until it is called again.
type chain struct {
	takes  []*take // by kind, of the item in hand
	stages []stage // by number, that of Start first
}

// stage is a point on a unit's way. Past it the unit takes, within the span,
// so many steps of the item with probability law[steps].
type stage struct {
	reached float64 // probability that the unit comes to it in the span
	left    float64 // that it comes and goes on in the span
	law     []float64
}

func newChain(kinds int) *chain { return &chain{takes: make([]*take, kinds)} }

// takeUp turns to an item.
func (c *chain) takeUp(takes []take) {
	clear(c.takes)
	for i := range takes {
		c.takes[takes[i].kind] = &takes[i]
	}
}

// use is the law of what the outcomes of one list take together, as the
// probabilities of the multiples of a step; none where they take nothing.
//
// It comes down the list from its end: what is taken past a stage is, for each
// outcome that follows it, what that one takes and what is taken past the
// stage that it leads to.
func (c *chain) use(outcomes []outcome) (probs []float64, step int) {
	for _, o := range outcomes {
		if t := c.takes[o.kind]; t != nil {
			step = gcd(step, t.step)
		}
	}
	if step == 0 {
		return nil, 0
	}
	c.reach(outcomes)
	for i := len(outcomes) - 1; i >= 0; i-- {
		o := outcomes[i]
		from := c.at(o.after)
		given := o.prob / max(from.reached, from.left)
		if o.stage == Start {
			from.add(given, o.capture, c.takes[o.kind], step, certainly)
		} else {
			from.add(given, o.capture, c.takes[o.kind], step, c.at(o.stage).law)
		}
	}
	return c.at(Start).law, step
}

// certainly is the law of nothing more.
var certainly = []float64{1}

func (c *chain) at(number int) *stage { return &c.stages[number-Start] }

// reach makes the stages of the outcomes ready, with nothing taken yet.
func (c *chain) reach(outcomes []outcome) {
	last := Start
	for _, o := range outcomes {
		last = max(last, o.after, o.stage)
	}
	for len(c.stages) <= last-Start {
		c.stages = append(c.stages, stage{})
	}
	for i := range c.stages[:last-Start+1] {
		c.stages[i].reached, c.stages[i].left = 0, 0
	}
	c.at(Start).reached = 1
	for _, o := range outcomes {
		c.at(o.after).left += o.prob
		if o.stage != Start {
			c.at(o.stage).reached += o.prob
		}
	}
	for i := range c.stages[:last-Start+1] {
		s := &c.stages[i]
		stays := 1.0
		if s.left > 0 {
			stays = max(0, 1-s.left/max(s.reached, s.left))
		}
		s.law = append(s.law[:0], stays)
	}
}

// add adds an outcome with its probability given the stage: what the job takes,
// if it is done here, and what comes past it.
func (s *stage) add(given, capture float64, t *take, step int, past []float64) {
	if t == nil {
		s.spread(given, 0, past)
		return
	}
	s.spread(given*(1-capture), 0, past)
	for i, value := range t.values {
		s.spread(given*capture*t.probs[i], value/step, past)
	}
}

func (s *stage) spread(prob float64, from int, past []float64) {
	for len(s.law) < from+len(past) {
		s.law = append(s.law, 0)
	}
	for i, q := range past {
		s.law[from+i] += prob * q
	}
}
