package db_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"circlip/db"
	"circlip/inventory"
)

// jobsModel is a workshop's shelf and jobs as plain Go says them. All its jobs
// are of unit U1.
type jobsModel struct {
	*model
	booked   map[string]*modelJob
	readings map[inventory.Date]inventory.Reading
	said     []string
}

type modelJob struct {
	state                  string
	bookedOn, bench, ended inventory.Date
	took                   map[lotOf]inventory.Quantity
	by                     string
}

type lotOf struct{ item, lot string }

func (m *jobsModel) clone() *jobsModel {
	c := &jobsModel{model: m.model.clone(), booked: map[string]*modelJob{}, readings: maps.Clone(m.readings), said: slices.Clone(m.said)}
	for code, j := range m.booked {
		copied := *j
		copied.took = maps.Clone(j.took)
		c.booked[code] = &copied
	}
	return c
}

// do carries out an act and returns the model after it, or the same model and
// the refusal.
func (m *jobsModel) do(act db.Act) (*jobsModel, db.Done, *refused) {
	after := m.clone()
	var done db.Done
	no := after.act(act, &done)
	if no == nil {
		no = after.follow(act, done)
	}
	if no != nil {
		return m, db.Done{}, no
	}
	return after, done, nil
}

func (m *jobsModel) act(act db.Act, done *db.Done) *refused {
	switch a := act.(type) {
	case db.BookJob:
		return m.book(a)
	case db.MoveJob:
		return m.moveJob(a, done)
	case db.CancelJob:
		return m.cancel(a, done)
	case db.SetAsideAll:
		return m.setAsideAll(a, done)
	case db.TakeOver:
		return m.takeOver(a, done)
	case db.CloseJob:
		return m.close(a, done)
	case db.CorrectJob:
		return m.correct(a, done)
	case db.SetAside:
		if no := m.open(a.Job, a.On); no != nil {
			return no
		}
		return m.model.setAside(db.SetAside{Job: a.Job, On: max(a.On, m.booked[a.Job].bench), Lines: a.Lines}, done)
	case db.Take:
		if no := m.open(a.Job, a.On); no != nil {
			return no
		}
	case db.Release:
		if m.booked[a.Job] == nil {
			return &refused{kind: "not found", job: a.Job}
		}
	}
	next, did, no := m.model.do(act)
	m.model, *done = next, did
	return no
}

// follow brings what jobs took along with the movements. None takes less than
// nothing.
func (m *jobsModel) follow(act db.Act, done db.Done) *refused {
	for _, moved := range done.Moved {
		j := m.booked[moved.Ref]
		at := lotOf{moved.Item, moved.Lot}
		switch {
		case moved.To == inventory.AtJob:
			j.took[at] += moved.Qty
		case moved.From == inventory.AtJob:
			j.took[at] -= moved.Qty
		}
		if j != nil && j.took[at] < 0 {
			return &refused{kind: "conflict", item: moved.Item, lot: moved.Lot, seq: act.(db.Reverse).Seq}
		}
	}
	return nil
}

func (m *jobsModel) open(job string, on inventory.Date) *refused {
	j := m.booked[job]
	switch {
	case j == nil:
		return &refused{kind: "not found", job: job}
	case j.state != "booked" || on < j.bookedOn:
		return &refused{kind: "conflict", job: job}
	}
	return nil
}

// stillGood refuses a named lot that is no longer good on the day.
func (m *jobsModel) stillGood(lines []db.Line, on inventory.Date) *refused {
	for _, line := range lines {
		if l := m.find(line.Item, line.Lot); l != nil && l.expires != 0 && l.expires <= on {
			return &refused{kind: "conflict", item: line.Item, lot: line.Lot}
		}
	}
	return nil
}

func (m *jobsModel) book(a db.BookJob) *refused {
	if m.booked[a.Job] != nil {
		return &refused{kind: "conflict", job: a.Job}
	}
	if a.Unit == "U9" {
		return &refused{kind: "not found", job: a.Job}
	}
	if a.Unit == "U2" {
		return &refused{kind: "conflict", job: a.Job} // a shock
	}
	m.booked[a.Job] = &modelJob{state: "booked", bookedOn: a.On, bench: a.Bench, took: map[lotOf]inventory.Quantity{}}
	return m.read(a.Job, a.On, a.Reading)
}

func (m *jobsModel) read(job string, on inventory.Date, r *inventory.Reading) *refused {
	if r == nil {
		return nil
	}
	if same, is := m.readings[on]; is {
		if same != *r {
			return &refused{kind: "conflict", job: job}
		}
		return nil
	}
	days := slices.Sorted(maps.Keys(m.readings))
	at, _ := slices.BinarySearch(days, on)
	if at > 0 && m.readings[days[at-1]].Hours > r.Hours && !r.Reset {
		return &refused{kind: "conflict", job: job}
	}
	if at < len(days) && m.readings[days[at]].Hours < r.Hours && !m.readings[days[at]].Reset {
		return &refused{kind: "conflict", job: job}
	}
	m.readings[on] = *r
	return nil
}

func (m *jobsModel) releaseAll(job string, done *db.Done) {
	for _, l := range m.lots {
		l.keep(job, -l.kept[job], done)
	}
}

func (m *jobsModel) moveJob(a db.MoveJob, done *db.Done) *refused {
	if no := m.open(a.Job, a.On); no != nil {
		return no
	}
	if m.booked[a.Job].bench == a.Bench {
		return &refused{kind: "conflict", job: a.Job}
	}
	m.booked[a.Job].bench = a.Bench
	m.releaseAll(a.Job, done)
	return nil
}

func (m *jobsModel) cancel(a db.CancelJob, done *db.Done) *refused {
	if no := m.open(a.Job, a.On); no != nil {
		return no
	}
	j := m.booked[a.Job]
	var took []string
	for at, qty := range j.took {
		if qty > 0 {
			took = append(took, at.item)
		}
	}
	if len(took) > 0 {
		return &refused{kind: "conflict", job: a.Job, item: slices.Min(took)}
	}
	j.state, j.ended = map[bool]string{true: "no-show", false: "cancelled"}[a.NoShow], a.On
	m.releaseAll(a.Job, done)
	return nil
}

// setAsideAll goes by bench day; what is short is told as it was asked.
func (m *jobsModel) setAsideAll(a db.SetAsideAll, done *db.Done) *refused {
	for _, j := range a.Jobs {
		if no := m.open(j.Job, a.On); no != nil {
			return no
		}
	}
	inOrder := slices.SortedFunc(slices.Values(a.Jobs), func(x, y db.JobLines) int {
		return cmp.Or(cmp.Compare(m.booked[x.Job].bench, m.booked[y.Job].bench), cmp.Compare(x.Job, y.Job))
	})
	lacking := map[string][]db.Short{}
	for _, j := range inOrder {
		goodOn := max(a.On, m.booked[j.Job].bench)
		if no := m.stillGood(j.Lines, goodOn); no != nil {
			return no
		}
		for _, line := range j.Lines {
			found := m.keepFree(j.Job, line, goodOn, done)
			if no := m.unknown(line.Item, line.Lot); no != nil && found == 0 {
				return no
			}
			if found < line.Qty {
				lacking[j.Job] = append(lacking[j.Job], db.Short{Job: j.Job, Item: line.Item, Found: found, Expected: line.Qty})
			}
		}
	}
	for _, j := range a.Jobs {
		done.Short = append(done.Short, lacking[j.Job]...)
	}
	return nil
}

func (m *jobsModel) keepFree(job string, line db.Line, goodOn inventory.Date, done *db.Done) (found inventory.Quantity) {
	for _, l := range m.shelf(line.Item, line.Lot) {
		if l.expires == 0 || l.expires > goodOn {
			part := min(l.free(), line.Qty-found)
			l.keep(job, part, done)
			found += part
		}
	}
	return found
}

func (m *jobsModel) takeOver(a db.TakeOver, done *db.Done) *refused {
	if no := m.open(a.Job, a.On); no != nil {
		return no
	}
	if m.booked[a.From] == nil {
		return &refused{kind: "not found", job: a.From}
	}
	goodOn := max(a.On, m.booked[a.Job].bench)
	if no := m.stillGood(a.Lines, goodOn); no != nil {
		return no
	}
	wanted := a.Lines
	if len(wanted) == 0 {
		for _, item := range m.items {
			wanted = append(wanted, db.Line{Item: item})
		}
	}
	for _, line := range wanted {
		lacking := line.Qty
		for _, l := range m.shelf(line.Item, line.Lot) {
			if l.expires != 0 && l.expires <= goodOn {
				continue
			}
			part := l.kept[a.From]
			if line.Qty > 0 {
				part = min(part, lacking)
				lacking -= part
			}
			l.keep(a.From, -part, done)
			l.keep(a.Job, part, done)
		}
		if lacking > 0 {
			return m.short(line, a.From, line.Qty-lacking)
		}
	}
	if len(done.Kept) == 0 {
		return &refused{kind: "conflict", job: a.From}
	}
	m.said = append(m.said, fmt.Sprintf("%s taken over from %s: %s", a.Job, a.From, a.Reason))
	return nil
}

// giveBack puts what a job took back, the longest-lived lots first.
func (m *jobsModel) giveBack(job string, lines []db.Line, on inventory.Date, done *db.Done) *refused {
	left := maps.Clone(m.booked[job].took)
	for _, line := range lines {
		lacking := line.Qty
		for _, l := range slices.Backward(m.shelf(line.Item, line.Lot)) {
			at := lotOf{l.item, l.code}
			part := min(left[at], lacking)
			if part > 0 {
				l.move(inventory.AtJob, inventory.Shelf, job, part, on, 0, done)
				left[at] -= part
				lacking -= part
			}
		}
		if lacking > 0 {
			return m.short(line, job, line.Qty-lacking)
		}
	}
	return nil
}

func (m *jobsModel) close(a db.CloseJob, done *db.Done) *refused {
	if no := m.open(a.Job, a.On); no != nil {
		return no
	}
	if a.Unit != "" && a.Unit != "U1" {
		return &refused{kind: "conflict", job: a.Job}
	}
	for _, step := range []func() *refused{
		func() *refused { return m.stillGood(a.Used, a.On) },
		func() *refused { return m.giveBack(a.Job, a.Back, a.On, done) },
		func() *refused { return m.draw(db.Take{Job: a.Job, On: a.On, Lines: a.Used}, inventory.AtJob, done) },
		func() *refused { return m.draw(db.Take{Job: a.Job, On: a.On, Lines: a.Wasted}, inventory.Wasted, done) },
		func() *refused { m.releaseAll(a.Job, done); return m.read(a.Job, a.On, a.Reading) },
	} {
		if no := step(); no != nil {
			return no
		}
	}
	j := m.booked[a.Job]
	j.state, j.ended = "done", a.On
	if a.By != "" {
		j.by = " by " + a.By
	}
	m.said = append(m.said, a.Job+" closed: ")
	return nil
}

func (m *jobsModel) correct(a db.CorrectJob, done *db.Done) *refused {
	j := m.booked[a.Job]
	if j == nil {
		return &refused{kind: "not found", job: a.Job}
	}
	if j.state != "done" || a.On < j.ended {
		return &refused{kind: "conflict", job: a.Job}
	}
	if no := m.stillGood(a.More, j.ended); no != nil {
		return no
	}
	if no := m.giveBack(a.Job, a.Less, a.On, done); no != nil {
		return no
	}
	m.said = append(m.said, a.Job+" corrected: "+a.Reason)
	return m.draw(db.Take{Job: a.Job, On: a.On, Lines: a.More}, inventory.AtJob, done)
}

// jobRows are the jobs as wholeJobsSQL tells them.
func (m *jobsModel) jobRows() []string {
	rows := slices.Clone(m.said)
	for code, j := range m.booked {
		row := fmt.Sprintf("job %s %s, bench %d", code, j.state, j.bench.Time().Day())
		switch j.state {
		case "done":
			row += fmt.Sprintf(", done %d%s", j.ended.Time().Day(), j.by)
		case "cancelled", "no-show":
			row += fmt.Sprintf(", off %d", j.ended.Time().Day())
		}
		rows = append(rows, row)
		for at, qty := range j.took {
			if qty > 0 && j.state == "done" {
				rows = append(rows, fmt.Sprintf("%s used %d of %s/%s", code, qty, at.item, at.lot))
			}
		}
		for _, l := range m.lots {
			if l.kept[code] > 0 {
				rows = append(rows, fmt.Sprintf("%s keeps %d of %s/%s", code, l.kept[code], l.item, l.code))
			}
		}
	}
	for on, r := range m.readings {
		row := fmt.Sprintf("U1 at %v h on %d", r.Hours, on.Time().Day())
		if r.Reset {
			row += ", new"
		}
		rows = append(rows, row)
	}
	return rows
}
