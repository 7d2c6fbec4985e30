package forecast

// Unbooked is a future in the light of what is not in the book: of jobs in
// each week the share booked[week] would be there by now. A unit that is not
// booked is the less likely to come in a week the surer it would have been
// booked for it (Bayes' rule); what is done elsewhere is never booked here.
// Units with an open job stay as they are: until it is done they do not come by
// themselves. What follows the first job is left as it is.
func Unbooked(f Future, booked []float64) Future {
	known := 0.0 // probability that the unit would be in the book
	for _, r := range f.Rungs {
		if r.Source == Booked {
			return f
		}
		if r.After == Start {
			known += r.booked(booked)
		}
	}
	if known == 0 {
		return f
	}
	left := max(1-known, leastLeft)
	rungs := make([]Rung, 0, len(f.Rungs)+1)
	for _, r := range f.Rungs {
		if r.After != Start {
			rungs = append(rungs, r)
			continue
		}
		here, elsewhere := r, r
		here.Capture, elsewhere.Capture = 1, 0
		here.Done, elsewhere.Done = make([]float64, len(r.Done)), make([]float64, len(r.Done))
		for week, q := range r.Done {
			here.Done[week] = min(1, q*r.Capture*(1-booked[week])/left)
			elsewhere.Done[week] = min(1, q*(1-r.Capture)/left)
		}
		rungs = append(rungs, here)
		if r.Capture < 1 {
			rungs = append(rungs, elsewhere)
		}
	}
	return Future{Unit: f.Unit, Model: f.Model, Rungs: rungs}
}

// leastLeft keeps the rule from dividing by next to nothing: a unit that was
// all but sure to be in the book and is not is one of which little is known.
const leastLeft = 0.02

// booked is the probability that the rung's job would be in the book.
func (r Rung) booked(booked []float64) float64 {
	sum := 0.0
	for week, q := range r.Done {
		sum += q * r.Capture * booked[week]
	}
	return sum
}

// Weighed is a future that comes about with a probability only.
func Weighed(f Future, prob float64) Future {
	if prob == 1 {
		return f
	}
	rungs := make([]Rung, len(f.Rungs))
	for i, r := range f.Rungs {
		done := make([]float64, len(r.Done))
		for week, q := range r.Done {
			done[week] = prob * q
		}
		r.Done = done
		rungs[i] = r
	}
	return Future{Unit: f.Unit, Model: f.Model, Rungs: rungs}
}
