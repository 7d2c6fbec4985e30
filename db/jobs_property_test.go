package db_test

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"pgregory.net/rapid"

	"circlip/db"
	"circlip/inventory"
)

var leastJobReach = map[string]int{
	"db.BookJob done": 25, "db.BookJob conflict": 5, "db.BookJob not found": 1,
	"db.MoveJob done": 5, "db.MoveJob conflict": 5, "db.MoveJob not found": 1,
	"db.CancelJob done": 5, "db.CancelJob conflict": 5, "db.CancelJob not found": 1,
	"db.SetAside done": 12, "db.SetAside short": 5, "db.SetAside conflict": 5, "db.SetAside not found": 1,
	"db.SetAsideAll done": 5, "db.SetAsideAll conflict": 2, "db.SetAsideAll not found": 1,
	"db.TakeOver done": 5, "db.TakeOver short": 1, "db.TakeOver conflict": 5, "db.TakeOver not found": 1,
	"db.Take done": 5, "db.Take conflict": 2, "db.Take not found": 1,
	"db.Release done": 2, "db.Release not found": 1,
	"db.CloseJob done": 12, "db.CloseJob short": 5, "db.CloseJob conflict": 5, "db.CloseJob not found": 1,
	"db.CorrectJob done": 5, "db.CorrectJob short": 2, "db.CorrectJob conflict": 5, "db.CorrectJob not found": 1,
	"db.Reverse done": 2, "db.Reverse conflict": 1,
	"closed with something back": 1, "moved with set-asides": 1, "called off with set-asides": 1, "some jobs short": 2,
	"a use taken back": 1, "a reversal beyond what is left": 1, "lost by a job": 1, "meter read": 5,
}

// TestTheWholeLifeOfJobsIsWhatTheModelSays books, moves, sets aside, takes over,
// closes, corrects and calls off jobs at random, among deliveries, counts and
// reversals, on the database and on the model, and compares everything there is
// after every step.
func TestTheWholeLifeOfJobsIsWhatTheModelSays(t *testing.T) {
	limitChecks(t, 200)
	s := openShop(t)
	reach := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		run := &jobsRun{shop: *s, reach: reach, model: &jobsModel{model: &model{items: []string{"seal", "wiper", "oil", "kit"}},
			booked: map[string]*modelJob{}, readings: map[inventory.Date]inventory.Reading{}}}
		run.workshop = s.another(t)
		for job, bench := range map[string]int{"B1": 5, "B2": 9, "B3": 5} {
			run.do(t, db.BookJob{Job: job, Unit: "U1", Services: []string{"fork service"}, On: day(1), Bench: day(bench)})
		}
		run.do(t, db.Receive{Item: "seal", Lot: "A", Qty: 9, On: day(1), Expires: day(8)})
		run.do(t, db.Receive{Item: "seal", Lot: "C", Qty: 9, On: day(1)})
		draw := func(one func(*rapid.T) db.Act) func(*rapid.T) { return func(t *rapid.T) { run.do(t, one(t)) } }
		t.Repeat(map[string]func(*rapid.T){
			"receive":       draw(func(t *rapid.T) db.Act { return drawReceive(t) }),
			"deliver":       draw(func(t *rapid.T) db.Act { return drawReceive(t) }), // twice as likely: shelves fill
			"book":          draw(drawBooking),
			"move":          draw(drawMoveJob),
			"cancel":        draw(drawCancel),
			"set aside":     draw(func(t *rapid.T) db.Act { return db.SetAside(drawTakeOfJob(t)) }),
			"keep":          draw(func(t *rapid.T) db.Act { return db.SetAside(drawTakeOfJob(t)) }),
			"set aside all": draw(drawSetAsideAll),
			"take over":     draw(run.drawTakeOver),
			"take":          draw(func(t *rapid.T) db.Act { return drawTakeOfJob(t) }),
			"take some":     draw(func(t *rapid.T) db.Act { return db.Take(run.drawHoard(t).(db.SetAside)) }),
			"hoard":         draw(run.drawHoard),
			"release":       draw(func(t *rapid.T) db.Act { return db.Release{Job: drawJobs.Draw(t, "job"), On: drawLater.Draw(t, "on")} }),
			"close":         draw(run.drawClose),
			"correct":       draw(run.drawCorrect),
			"waste":         draw(func(t *rapid.T) db.Act { return drawWaste(t) }),
			"count":         draw(func(t *rapid.T) db.Act { return drawCount(t) }),
			"reverse":       draw(run.drawUndo),
			"":              run.compare,
		})
		run.mustBeSound(t)
	})
	t.Log(reach)
	for what, least := range leastJobReach {
		if reach[what] < least {
			t.Errorf("%q was reached %d times, expected at least %d", what, reach[what], least)
		}
	}
}

var (
	drawJobs  = rapid.SampledFrom([]string{"B1", "B1", "B1", "B1", "B2", "B2", "B2", "B2", "B3", "B3", "B3", "B4"})
	drawLater = rapid.Map(rapid.IntRange(4, 12), day)
	drawFew   = rapid.Map(rapid.IntRange(1, 4), func(n int) inventory.Quantity { return inventory.Quantity(n) })
)

func drawLines(t *rapid.T, least int) []db.Line {
	return rapid.SliceOfNDistinct(rapid.Custom(func(t *rapid.T) db.Line {
		return db.Line{Item: drawItem.Draw(t, "item"), Lot: drawMay.Draw(t, "lot"), Qty: drawFew.Draw(t, "qty")}
	}), least, 2, func(l db.Line) string { return l.Item }).Draw(t, "lines")
}

// drawMeter mostly grows with the days.
func drawMeter(t *rapid.T, on inventory.Date) *inventory.Reading {
	if rapid.IntRange(0, 2).Draw(t, "read") > 0 {
		return nil
	}
	return &inventory.Reading{Hours: float64(on-day(1))*4 + float64(rapid.IntRange(0, 5).Draw(t, "hours")),
		Reset: rapid.IntRange(0, 9).Draw(t, "reset") == 0}
}

func drawBooking(t *rapid.T) db.Act {
	on := rapid.Map(rapid.IntRange(1, 4), day).Draw(t, "on")
	return db.BookJob{Job: drawJobs.Draw(t, "job"), Unit: rapid.SampledFrom([]string{"U1", "U1", "U1", "U1", "U2", "U9"}).Draw(t, "unit"),
		Services: []string{"fork service"}, On: on, Bench: on + inventory.Date(rapid.IntRange(0, 9).Draw(t, "ahead")), Reading: drawMeter(t, on)}
}

func drawMoveJob(t *rapid.T) db.Act {
	on := drawLater.Draw(t, "on")
	return db.MoveJob{Job: drawJobs.Draw(t, "job"), On: on, Bench: on + inventory.Date(rapid.IntRange(0, 9).Draw(t, "ahead"))}
}

func drawCancel(t *rapid.T) db.Act {
	return db.CancelJob{Job: drawJobs.Draw(t, "job"), NoShow: rapid.Bool().Draw(t, "no-show"), On: drawLater.Draw(t, "on")}
}

func drawTakeOfJob(t *rapid.T) db.Take {
	return db.Take{Job: drawJobs.Draw(t, "job"), On: drawLater.Draw(t, "on"), Lines: drawLines(t, 1)}
}

func drawSetAsideAll(t *rapid.T) db.Act {
	a := db.SetAsideAll{On: drawLater.Draw(t, "on")}
	for _, job := range rapid.SliceOfNDistinct(drawJobs, 1, 3, rapid.ID[string]).Draw(t, "jobs") {
		a.Jobs = append(a.Jobs, db.JobLines{Job: job, Lines: drawLines(t, 1)})
	}
	if rapid.Bool().Draw(t, "any lot") {
		for _, j := range a.Jobs {
			for i := range j.Lines {
				j.Lines[i].Lot = ""
			}
		}
	}
	return a
}

// anOpen is mostly a job that is booked.
func (r *jobsRun) anOpen(t *rapid.T) string {
	var open []string
	for _, code := range slices.Sorted(maps.Keys(r.model.booked)) {
		if r.model.booked[code].state == "booked" {
			open = append(open, code)
		}
	}
	if len(open) == 0 || rapid.IntRange(0, 4).Draw(t, "any job") == 0 {
		return drawJobs.Draw(t, "job")
	}
	return rapid.SampledFrom(open).Draw(t, "open job")
}

// drawHoard has a job set aside what the shelf has.
func (r *jobsRun) drawHoard(t *rapid.T) db.Act {
	a := db.SetAside{Job: r.anOpen(t), On: day(4), Lines: []db.Line{{Item: "seal", Qty: 1}}}
	for _, l := range r.model.lots {
		if l.free() > 0 && (l.expires == 0 || l.expires > day(9)) {
			a.Lines = []db.Line{{Item: l.item, Lot: l.code, Qty: (l.free() + 1) / 2}}
		}
	}
	return a
}

// drawTakeOver mostly takes from a job that has something.
func (r *jobsRun) drawTakeOver(t *rapid.T) db.Act {
	a := db.TakeOver{From: r.anOpen(t), Job: r.anOpen(t), Reason: "it leaves first", On: drawLater.Draw(t, "on")}
	for _, l := range r.model.lots {
		for _, job := range slices.Sorted(maps.Keys(l.kept)) {
			if l.kept[job] > 0 && rapid.Bool().Draw(t, "rich") {
				a.From = job
			}
		}
	}
	for a.From == a.Job {
		a.Job = r.anOpen(t)
	}
	if rapid.Bool().Draw(t, "some") {
		a.Lines = drawLines(t, 1)
	}
	return a
}

func (r *jobsRun) drawClose(t *rapid.T) db.Act {
	a := db.CloseJob{Job: r.anOpen(t), On: drawLater.Draw(t, "on"), Used: drawLines(t, 0),
		Unit: rapid.SampledFrom([]string{"", "", "", "U1", "U1", "U2"}).Draw(t, "unit"),
		By:   rapid.SampledFrom([]string{"", "", "Ann", "Bo"}).Draw(t, "by")}
	a.Reading = drawMeter(t, a.On)
	if rapid.IntRange(0, 3).Draw(t, "damage") == 0 {
		a.Wasted = drawLines(t, 1)
	}
	if took := r.took(a.Job); len(took) > 0 && rapid.Bool().Draw(t, "back") {
		at := rapid.SampledFrom(took).Draw(t, "of")
		a.Used, a.On = nil, day(12)
		a.Back = []db.Line{{Item: at.item, Lot: rapid.SampledFrom([]string{"", at.lot}).Draw(t, "lot"), Qty: drawFew.Draw(t, "qty")}}
	}
	return a
}

func (r *jobsRun) drawCorrect(t *rapid.T) db.Act {
	a := db.CorrectJob{Job: drawJobs.Draw(t, "job"), On: day(12), Reason: "miscounted"}
	if rapid.IntRange(0, 4).Draw(t, "early") == 0 {
		a.On = drawLater.Draw(t, "on")
	}
	if took := r.took(a.Job); len(took) > 0 {
		at := rapid.SampledFrom(took).Draw(t, "of")
		a.Less = []db.Line{{Item: at.item, Qty: drawFew.Draw(t, "qty")}}
	}
	if len(a.Less) == 0 || rapid.Bool().Draw(t, "more") {
		a.More = drawLines(t, 1)
	}
	return a
}

// took are the lots of which a job has something, in order.
func (r *jobsRun) took(job string) (lots []lotOf) {
	for _, l := range r.model.lots {
		if at := (lotOf{l.item, l.code}); r.model.booked[job] != nil && r.model.booked[job].took[at] > 0 {
			lots = append(lots, at)
		}
	}
	return lots
}

// drawUndo mostly picks a movement of a job.
func (r *jobsRun) drawUndo(t *rapid.T) db.Act {
	var made []db.Reverse
	for _, l := range r.model.lots {
		for _, m := range l.moved {
			if m.From == inventory.AtJob || m.To == inventory.AtJob {
				made = append(made, db.Reverse{Item: l.item, Lot: l.code, Seq: m.Seq, On: day(12)})
			}
		}
	}
	if len(made) == 0 {
		return db.Reverse{Item: "seal", Lot: "A", Seq: 1, On: day(12)}
	}
	return rapid.SampledFrom(made).Draw(t, "made")
}

// jobsRun is one random sequence on both.
type jobsRun struct {
	shop
	model *jobsModel
	reach map[string]int
}

func (r *jobsRun) do(t *rapid.T, act db.Act) {
	after, want, no := r.model.do(act)
	done, err := r.Do(context.Background(), r.workshop, uuid.New(), act)
	sortDone(&want)
	sortDone(&done)
	outcome := "done"
	if no != nil {
		outcome = no.kind
		if got := asRefused(err); got == nil || *got != *no {
			t.Fatalf("%#v: found %v, expected the refusal %+v", act, err, *no)
		}
	} else if err != nil {
		t.Fatalf("%#v: found %v, expected %+v", act, err, want)
	}
	if diff := gocmp.Diff(want, done); diff != "" {
		t.Fatalf("%#v (-expected +found):\n%s", act, diff)
	}
	r.count(act, outcome, done)
	r.model = after
}

// count looks at the act with the model as it was before.
func (r *jobsRun) count(act db.Act, outcome string, done db.Done) {
	reached := func(what string, is bool) {
		if is {
			r.reach[what]++
		}
	}
	reached(fmt.Sprintf("%T %s", act, outcome), true)
	switch a := act.(type) {
	case db.MoveJob:
		reached("moved with set-asides", len(done.Kept) > 0)
	case db.CancelJob:
		reached("called off with set-asides", len(done.Kept) > 0)
	case db.SetAsideAll:
		reached("some jobs short", len(done.Short) > 0 && len(done.Kept) > 0)
	case db.CloseJob:
		reached("closed with something back", len(a.Back) > 0 && outcome == "done")
		reached("meter read", a.Reading != nil && outcome == "done")
	case db.Count, db.Waste:
		reached("lost by a job", len(done.Kept) > 0)
	case db.Reverse:
		l := r.model.find(a.Item, a.Lot)
		if l == nil || int(a.Seq) > len(l.moved) {
			return
		}
		m := l.moved[a.Seq-1]
		reached("a use taken back", outcome == "done" && m.To == inventory.AtJob && r.model.booked[m.Ref].state == "done")
		reached("a reversal beyond what is left", outcome == "conflict" && m.To == inventory.AtJob && m.reverses == 0 &&
			!slices.ContainsFunc(l.moved, func(o modelMovement) bool { return o.reverses == a.Seq }))
	}
}

// compare holds the database against the model: the shelf, every movement, the
// jobs and their uses, the meter, what was said.
func (r *jobsRun) compare(t *rapid.T) {
	found := append(collect(t, r.admin, pgx.RowTo[string], wholeLedgerSQL+` UNION ALL `+wholeCountsSQL, r.workshop), r.jobs(t)...)
	want := slices.Concat(r.model.lotRows(), r.model.auditRows(), r.model.jobRows())
	slices.Sort(found)
	slices.Sort(want)
	if diff := gocmp.Diff(want, found); diff != "" {
		t.Fatalf("shelf and jobs (-model +database):\n%s", diff)
	}
}
