package db

import (
	"circlip/inventory"
)

// BookJob writes a job down for a bench day. It is refused where the job's code
// is taken, where the book has no such unit, model or service, or where they do
// not go together. What the meter shows and how the unit is set are kept as of
// the day of booking.
type BookJob struct {
	Job, Unit, Model string // Unit may be empty where Model is not, and the other way round
	Services         []string
	On, Bench        inventory.Date
	Reading          *inventory.Reading // nil: not read; its date is On's
	Before           *inventory.Setup   // nil: not noted; only the settings are looked at
}

// MoveJob puts a booked job on another bench day. What is set aside for it was
// chosen for the old one and goes back: it stands in Done.Kept.
type MoveJob struct {
	Job       string
	On, Bench inventory.Date
}

// CancelJob calls a booked job off, or says that it did not turn up, and gives
// back what is set aside for it. A job that has taken parts is closed instead.
type CancelJob struct {
	Job    string
	NoShow bool
	On     inventory.Date
}

// SetAsideAll keeps free stock for many booked jobs, first those that are on the
// bench first, each as far as the stock goes: what it did not go for stands in
// Done.Short.
type SetAsideAll struct {
	On   inventory.Date
	Jobs []JobLines // each job once
}

// JobLines is what one job needs.
type JobLines struct {
	Job   string
	Lines []Line
}

// TakeOver gives what is set aside for one job to another that has a better
// claim: the lines, of which one without a quantity means all of its item, or
// everything when there are none. Lots that are no longer good on the other's
// bench day stay where they are.
type TakeOver struct {
	From, Job string
	Reason    string
	On        inventory.Date
	Lines     []Line
}

// CloseJob says what became of a booked job: it is done on the day On. Used and
// Wasted come from what is set aside for it and then from what is free; what it
// has taken before by Take counts as used unless it is in Back. The rest of what
// is set aside is free again. Closing a second time is refused.
type CloseJob struct {
	Job     string
	Unit    string // that was on the bench, to be compared with the job's; empty: not compared
	By      string // who did it at the bench; empty: not recorded
	On      inventory.Date
	Used    []Line             // besides what was taken before
	Wasted  []Line             // damaged and replaced, spilled
	Back    []Line             // taken before and not needed
	Reading *inventory.Reading // nil: not read; its date is On's
	After   *inventory.Setup   // nil: not noted; only the settings are looked at
}

// CorrectJob says what a closed job used more or less than was told. It makes
// new movements, of the day On; the old ones stay.
type CorrectJob struct {
	Job        string
	More, Less []Line
	Reason     string
	On         inventory.Date
}

func (BookJob) kind() string     { return "book job" }
func (MoveJob) kind() string     { return "move job" }
func (CancelJob) kind() string   { return "cancel job" }
func (SetAsideAll) kind() string { return "set aside all" }
func (TakeOver) kind() string    { return "take over" }
func (CloseJob) kind() string    { return "close job" }
func (CorrectJob) kind() string  { return "correct job" }

func (b BookJob) request() map[string]any {
	request := map[string]any{"job": b.Job, "unit": b.Unit, "model": b.Model, "services": b.Services,
		"on": b.On.String(), "bench": b.Bench.String()}
	setReading(request, b.Reading)
	setSetup(request, "before", b.Before)
	return request
}

func (m MoveJob) request() map[string]any {
	return map[string]any{"job": m.Job, "on": m.On.String(), "bench": m.Bench.String()}
}

func (c CancelJob) request() map[string]any {
	return map[string]any{"job": c.Job, "no_show": c.NoShow, "on": c.On.String()}
}

func (s SetAsideAll) request() map[string]any {
	jobs := make([]map[string]any, len(s.Jobs))
	for i, j := range s.Jobs {
		jobs[i] = map[string]any{"job": j.Job, "lines": j.Lines}
	}
	return map[string]any{"on": s.On.String(), "jobs": jobs}
}

func (t TakeOver) request() map[string]any {
	request := jobRequest(t.Job, t.On, t.Lines)
	request["from"], request["reason"] = t.From, t.Reason
	return request
}

func (c CloseJob) request() map[string]any {
	request := map[string]any{"job": c.Job, "unit": c.Unit, "on": c.On.String(), "used": append([]Line{}, c.Used...),
		"wasted": append([]Line{}, c.Wasted...), "back": append([]Line{}, c.Back...)}
	setText(request, "by", c.By)
	setReading(request, c.Reading)
	setSetup(request, "after", c.After)
	return request
}

func (c CorrectJob) request() map[string]any {
	return map[string]any{"job": c.Job, "on": c.On.String(), "reason": c.Reason, "more": append([]Line{}, c.More...),
		"less": append([]Line{}, c.Less...)}
}

func setReading(request map[string]any, r *inventory.Reading) {
	if r != nil {
		request["reading"] = map[string]any{"hours": r.Hours, "reset": r.Reset}
	}
}

// setSetup leaves out what was not recorded.
func setSetup(request map[string]any, name string, s *inventory.Setup) {
	if s == nil {
		return
	}
	settings := map[string]any{}
	if s.AirBar != nil {
		settings["air_bar"] = *s.AirBar
	}
	if s.ReboundClicks != nil {
		settings["rebound_clicks"] = *s.ReboundClicks
	}
	if s.VolumeSpacers != nil {
		settings["volume_spacers"] = *s.VolumeSpacers
	}
	if s.Compression != "" {
		settings["compression"] = s.Compression
	}
	if s.Note != "" {
		settings["note"] = s.Note
	}
	request[name] = settings
}

// short is what lines of a batch asked for beyond what was kept, line by line.
// Lines of one job and item share what was kept in their order.
func (s SetAsideAll) short(kept []Kept) (lacking []Short) {
	type key struct{ job, item string }
	got := map[key]inventory.Quantity{}
	for _, k := range kept {
		got[key{k.Job, k.Item}] += k.Qty
	}
	for _, j := range s.Jobs {
		for _, l := range j.Lines {
			found := min(l.Qty, got[key{j.Job, l.Item}])
			got[key{j.Job, l.Item}] -= found
			if found < l.Qty {
				lacking = append(lacking, Short{Job: j.Job, Item: l.Item, Found: found, Expected: l.Qty})
			}
		}
	}
	return lacking
}
