package audit

// explain adds what may explain the periods of an item, and what must be known
// to read them.
func (a *account) explain(periods []Period) {}
