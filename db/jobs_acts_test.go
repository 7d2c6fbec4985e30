package db_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/inventory"
)

// What a job is, what it used, what was noted of its unit, and what was said.
const wholeJobsSQL = `
SELECT format('job %s %s, bench %s%s', job, state, extract(day FROM bench_date),
	coalesce(', done ' || extract(day FROM done_on) || coalesce(' by ' || done_by, ''), '') || coalesce(', off ' || extract(day FROM cancelled_on), ''))
FROM circlip.job WHERE workshop = $1 AND (state <> 'booked' OR booked_on IS NOT NULL)
UNION ALL SELECT format('%s used %s of %s/%s', job, qty, item, lot) FROM circlip.job_use WHERE workshop = $1
UNION ALL SELECT format('%s keeps %s of %s/%s', job, qty, item, lot) FROM circlip.kept WHERE workshop = $1
UNION ALL SELECT format('%s at %s h on %s%s', unit, hours, extract(day FROM read_on), CASE WHEN reset THEN ', new' ELSE '' END)
	FROM circlip.reading WHERE workshop = $1
UNION ALL SELECT format('%s %s %s: %s bar, rebound %s, compression %s, spacers %s, %s', job, moment, unit, air_bar, rebound_clicks,
	compression, volume_spacers, note) FROM circlip.setup WHERE workshop = $1
UNION ALL SELECT format('%s %s%s: %s', job, what, coalesce(' from ' || from_job, ''), reason) FROM circlip.job_act WHERE workshop = $1`

func (s *shop) jobs(t failer) []string {
	t.Helper()
	rows := collect(t, s.admin, pgx.RowTo[string], wholeJobsSQL, s.workshop)
	slices.Sort(rows)
	return rows
}

func (s *shop) shelf(t failer) (lots []string) {
	for _, b := range s.standing(t) {
		lots = append(lots, fmt.Sprintf("%s/%s %d, kept %d", b.Item, b.Lot, b.OnHand, b.Reserved))
	}
	return lots
}

func lines(item string, qty inventory.Quantity) []db.Line { return []db.Line{{Item: item, Qty: qty}} }

func asideFor(job, item string, qty inventory.Quantity) db.SetAside {
	return db.SetAside{Job: job, On: day(2), Lines: lines(item, qty)}
}

func value[T any](v T) *T { return &v }

// bookedFor is job B on unit U1, for a day.
func bookedFor(bench int) db.BookJob {
	return db.BookJob{Job: "B", Unit: "U1", Services: []string{"fork service"}, On: day(2), Bench: day(bench)}
}

// jobCase is a shop, one act, and the jobs and the shelf after it.
type jobCase struct {
	before []db.Act
	act    db.Act
	jobs   []string // besides those that are only booked in the fixture
	shelf  []string
	err    error
	says   string // of the refusal
}

func (s *shop) run(t *testing.T, cases map[string]jobCase) {
	t.Helper()
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			s := *s
			s.workshop = s.another(t)
			for _, act := range c.before {
				s.must(t, act)
			}
			jobs, shelf := s.jobs(t), s.shelf(t)
			_, err := s.Do(t.Context(), s.workshop, uuid.New(), c.act)
			if !errors.Is(err, c.err) || (err != nil && !strings.Contains(err.Error(), c.says)) {
				t.Errorf("found error %v, expected %v: %s", err, c.err, c.says)
			}
			if c.err == nil { // else nothing is stored
				jobs, shelf = c.jobs, c.shelf
			}
			if diff := cmp.Diff(jobs, s.jobs(t)); diff != "" && len(jobs)+len(s.jobs(t)) > 0 {
				t.Errorf("jobs (-expected +found):\n%s", diff)
			}
			if diff := cmp.Diff(shelf, s.shelf(t)); diff != "" && len(shelf)+len(s.shelf(t)) > 0 {
				t.Errorf("shelf (-expected +found):\n%s", diff)
			}
			s.mustBeSound(t)
		})
	}
}

func TestBookingAJob(t *testing.T) {
	whole := bookedFor(9)
	whole.Reading = &inventory.Reading{Hours: 40.5}
	whole.Before = &inventory.Setup{AirBar: value(5.5), ReboundClicks: value(8), Compression: "open", VolumeSpacers: value(0), Note: "light rider"}
	changed := func(change func(b *db.BookJob)) db.BookJob {
		b := bookedFor(9)
		b.Job = "C"
		change(&b)
		return b
	}
	read := func(hours float64, reset bool) db.BookJob {
		return changed(func(b *db.BookJob) { b.Reading = &inventory.Reading{Hours: hours, Reset: reset} })
	}
	openShop(t).run(t, map[string]jobCase{
		"a job of a unit": {nil, bookedFor(9), []string{"job B booked, bench 9"}, nil, nil, ""},
		"with its meter and settings": {nil, whole, []string{
			"B before U1: 5.5 bar, rebound 8, compression open, spacers 0, light rider", "U1 at 40.5 h on 2", "job B booked, bench 9"}, nil, nil, ""},
		"a job of a model the book has no unit of": {nil, changed(func(b *db.BookJob) { b.Unit, b.Model = "", "shock"; b.Services = []string{"shock service"} }),
			[]string{"job C booked, bench 9"}, nil, nil, ""},
		"a code that is taken":        {[]db.Act{bookedFor(9)}, bookedFor(11), nil, nil, inventory.ErrConflict, "job B: conflict: it is booked, for 2026-03-09; give this one another code"},
		"a unit nobody knows":         {nil, changed(func(b *db.BookJob) { b.Unit = "U9" }), nil, nil, inventory.ErrNotFound, "job C: not found: no unit U9"},
		"a model nobody knows":        {nil, changed(func(b *db.BookJob) { b.Unit, b.Model = "", "frok" }), nil, nil, inventory.ErrNotFound, "no model frok"},
		"a service nobody knows":      {nil, changed(func(b *db.BookJob) { b.Services = []string{"fork service", "wash"} }), nil, nil, inventory.ErrNotFound, "no service wash"},
		"a unit of another model":     {nil, changed(func(b *db.BookJob) { b.Model = "shock" }), nil, nil, inventory.ErrConflict, "wrong unit: U1 is a fork, found shock"},
		"a service of another family": {nil, changed(func(b *db.BookJob) { b.Unit = "U2" }), nil, nil, inventory.ErrConflict, "wrong unit: service fork service is for family fork, and shock is of shock"},
		"the same reading on the same day": {[]db.Act{whole}, read(40.5, false), []string{
			"B before U1: 5.5 bar, rebound 8, compression open, spacers 0, light rider", "U1 at 40.5 h on 2", "job B booked, bench 9", "job C booked, bench 9"}, nil, nil, ""},
		"another reading on the same day":     {[]db.Act{whole}, read(41, false), nil, nil, inventory.ErrConflict, "unit U1: the meter was read at 40.5 h on the same day, found 41 h"},
		"a meter that fell":                   {[]db.Act{whole}, changed(func(b *db.BookJob) { b.On = day(4); b.Reading = &inventory.Reading{Hours: 40} }), nil, nil, inventory.ErrConflict, "expected no less unless it was replaced"},
		"a meter that will have fallen":       {[]db.Act{whole}, changed(func(b *db.BookJob) { b.On = day(1); b.Reading = &inventory.Reading{Hours: 41} }), nil, nil, inventory.ErrConflict, "expected no more"},
		"a reading of a unit nobody knows of": {nil, changed(func(b *db.BookJob) { b.Unit, b.Model = "", "fork"; b.Reading = &inventory.Reading{} }), nil, nil, inventory.ErrConflict, "it names no unit whose meter"},
		"settings of a unit nobody knows of":  {nil, changed(func(b *db.BookJob) { b.Unit, b.Model = "", "fork"; b.Before = &inventory.Setup{Note: "x"} }), nil, nil, inventory.ErrConflict, "it names no unit whose settings"},
	})
}

func TestSettingAsideForAJob(t *testing.T) {
	old := db.Receive{Item: "seal", Lot: "old", Qty: 4, On: day(1), Expires: day(10)}
	fresh := db.Receive{Item: "seal", Lot: "fresh", Qty: 6, On: day(1), Expires: day(20)}
	move := db.MoveJob{Job: "B", On: day(4), Bench: day(15)}
	over := func(lines ...db.Line) db.TakeOver {
		return db.TakeOver{From: "J", Job: "B", Reason: "the van leaves", On: day(3), Lines: lines}
	}
	openShop(t).run(t, map[string]jobCase{
		"what expires by the bench day stays": {[]db.Act{old, fresh, bookedFor(10)}, asideFor("B", "seal", 3),
			[]string{"B keeps 3 of seal/fresh", "job B booked, bench 10"}, []string{"seal/fresh 6, kept 3", "seal/old 4, kept 0"}, nil, ""},
		"what is good on that day goes, first expired first": {[]db.Act{old, fresh, bookedFor(9)}, asideFor("B", "seal", 5),
			[]string{"B keeps 1 of seal/fresh", "B keeps 4 of seal/old", "job B booked, bench 9"}, []string{"seal/fresh 6, kept 1", "seal/old 4, kept 4"}, nil, ""},
		"a lot named that expires by then": {[]db.Act{old, bookedFor(10)}, db.SetAside{Job: "B", On: day(2), Lines: []db.Line{{Item: "seal", Lot: "old", Qty: 1}}},
			nil, nil, inventory.ErrConflict, "item seal lot old: conflict: it expires on 2026-03-10 and is wanted for 2026-03-10"},
		"a job nobody knows":            {[]db.Act{old}, asideFor("Q", "seal", 1), nil, nil, inventory.ErrNotFound, "job Q: not found: no job has this code"},
		"a job that is closed":          {[]db.Act{old, db.CloseJob{Job: "J", On: day(2)}}, asideFor("J", "seal", 1), nil, nil, inventory.ErrConflict, "job J: conflict: it is done since 2026-03-02"},
		"a job that is called off":      {[]db.Act{old, db.CancelJob{Job: "J", On: day(2)}}, asideFor("J", "seal", 1), nil, nil, inventory.ErrConflict, "it is cancelled since 2026-03-02"},
		"a day before it was booked":    {[]db.Act{old, bookedFor(9)}, db.SetAside{Job: "B", On: day(1), Lines: lines("seal", 1)}, nil, nil, inventory.ErrConflict, "expected no day before it was booked, 2026-03-02"},
		"a release of a job unknown":    {nil, db.Release{Job: "Q", On: day(2)}, nil, nil, inventory.ErrNotFound, "job Q"},
		"another day gives all back":    {[]db.Act{old, bookedFor(9), asideFor("B", "seal", 3)}, move, []string{"job B booked, bench 15"}, []string{"seal/old 4, kept 0"}, nil, ""},
		"the same day changes nothing":  {[]db.Act{old, bookedFor(15), asideFor("J", "seal", 3)}, move, nil, nil, inventory.ErrConflict, "it is for 2026-03-15 already"},
		"a job that is off stays off":   {[]db.Act{bookedFor(9), db.CancelJob{Job: "B", On: day(3)}}, move, nil, nil, inventory.ErrConflict, "it is cancelled"},
		"called off, all comes back":    {[]db.Act{old, bookedFor(9), asideFor("B", "seal", 3)}, db.CancelJob{Job: "B", On: day(5)}, []string{"job B cancelled, bench 9, off 5"}, []string{"seal/old 4, kept 0"}, nil, ""},
		"not turned up, likewise":       {[]db.Act{old, bookedFor(9), asideFor("B", "seal", 3)}, db.CancelJob{Job: "B", NoShow: true, On: day(9)}, []string{"job B no-show, bench 9, off 9"}, []string{"seal/old 4, kept 0"}, nil, ""},
		"called off twice":              {[]db.Act{db.CancelJob{Job: "J", On: day(5)}}, db.CancelJob{Job: "J", On: day(6)}, nil, nil, inventory.ErrConflict, "it is cancelled since 2026-03-05"},
		"called off with parts taken":   {[]db.Act{old, take("J", "seal", 1)}, db.CancelJob{Job: "J", On: day(5)}, nil, nil, inventory.ErrConflict, "it has taken some"},
		"a better claim takes a part":   {[]db.Act{old, bookedFor(9), asideFor("J", "seal", 3)}, over(db.Line{Item: "seal", Qty: 2}), []string{"B keeps 2 of seal/old", "B taken over from J: the van leaves", "J keeps 1 of seal/old", "job B booked, bench 9"}, []string{"seal/old 4, kept 3"}, nil, ""},
		"a better claim takes all":      {[]db.Act{old, bookedFor(9), asideFor("J", "seal", 3)}, over(), []string{"B keeps 3 of seal/old", "B taken over from J: the van leaves", "job B booked, bench 9"}, []string{"seal/old 4, kept 3"}, nil, ""},
		"but not what expires by then":  {[]db.Act{old, bookedFor(10), asideFor("J", "seal", 3)}, over(), nil, nil, inventory.ErrConflict, "nothing of it is set aside for this job that is good on 2026-03-10"},
		"nor more than there is":        {[]db.Act{old, bookedFor(9), asideFor("J", "seal", 3)}, over(db.Line{Item: "seal", Qty: 4}), nil, nil, inventory.ErrShort, "item seal for job J: short: found 3 ea, expected 4 ea"},
		"nor from a job nobody knows":   {[]db.Act{bookedFor(9)}, db.TakeOver{From: "Q", Job: "B", Reason: "x", On: day(3)}, nil, nil, inventory.ErrNotFound, "job Q"},
		"nor for a job that is closed":  {[]db.Act{old, asideFor("J", "seal", 3), db.CloseJob{Job: "K", On: day(2)}}, db.TakeOver{From: "J", Job: "K", Reason: "x", On: day(3)}, nil, nil, inventory.ErrConflict, "it is done"},
		"what was taken over can be":    {[]db.Act{old, bookedFor(9), asideFor("J", "seal", 3), over()}, db.TakeOver{From: "B", Job: "J", Reason: "the van stays", On: day(4)}, []string{"B taken over from J: the van leaves", "J keeps 3 of seal/old", "J taken over from B: the van stays", "job B booked, bench 9"}, []string{"seal/old 4, kept 3"}, nil, ""},
		"who took over loses to counts": {[]db.Act{old, bookedFor(9), asideFor("J", "seal", 3), over(db.Line{Item: "seal", Qty: 2})}, db.Count{Item: "seal", Found: 1, On: day(4)}, []string{"B taken over from J: the van leaves", "J keeps 1 of seal/old", "job B booked, bench 9"}, []string{"seal/old 1, kept 1"}, nil, ""},
	})
}

func TestClosingAJob(t *testing.T) {
	seals := receive("seal", "S", 10)
	closed := func(change func(c *db.CloseJob)) db.CloseJob {
		c := db.CloseJob{Job: "B", On: day(9)}
		change(&c)
		return c
	}
	used := func(qty inventory.Quantity) db.CloseJob {
		return closed(func(c *db.CloseJob) { c.Used = lines("seal", qty) })
	}
	takeB := db.Take{Job: "B", On: day(8), Lines: lines("seal", 5)}
	begun := []db.Act{seals, bookedFor(9), asideFor("B", "seal", 4)}
	correct := func(more, less []db.Line) db.CorrectJob {
		return db.CorrectJob{Job: "B", More: more, Less: less, Reason: "miscounted", On: day(10)}
	}
	done := "job B done, bench 9, done 9"
	openShop(t).run(t, map[string]jobCase{
		"what it used goes, the rest is free":      {begun, used(3), []string{"B closed: ", "B used 3 of seal/S", done}, []string{"seal/S 7, kept 0"}, nil, ""},
		"more than was set aside":                  {begun, used(6), []string{"B closed: ", "B used 6 of seal/S", done}, []string{"seal/S 4, kept 0"}, nil, ""},
		"nothing at all":                           {begun, db.CloseJob{Job: "B", On: day(9)}, []string{"B closed: ", done}, []string{"seal/S 10, kept 0"}, nil, ""},
		"what was damaged is waste":                {begun, closed(func(c *db.CloseJob) { c.Used, c.Wasted = lines("seal", 3), lines("seal", 2) }), []string{"B closed: ", "B used 3 of seal/S", done}, []string{"seal/S 5, kept 0"}, nil, ""},
		"what was taken before counts":             {append(slices.Clone(begun), takeB), used(1), []string{"B closed: ", "B used 6 of seal/S", done}, []string{"seal/S 4, kept 0"}, nil, ""},
		"what was taken and not needed comes back": {append(slices.Clone(begun), takeB), closed(func(c *db.CloseJob) { c.Back = lines("seal", 2) }), []string{"B closed: ", "B used 3 of seal/S", done}, []string{"seal/S 7, kept 0"}, nil, ""},
		"no more comes back than was taken":        {append(slices.Clone(begun), takeB), closed(func(c *db.CloseJob) { c.Back = lines("seal", 6) }), nil, nil, inventory.ErrShort, "item seal for job B: short: found 5 ea, expected 6 ea"},
		"an opened kit's leftovers are on the shelf": {[]db.Act{receive("kit", "K", 1), bookedFor(9), openKit("", 1), asideFor("B", "seal", 2)}, closed(func(c *db.CloseJob) { c.Used = lines("seal", 1) }),
			[]string{"B closed: ", "B used 1 of seal/K", done}, []string{"kit/K 0, kept 0", "seal/K 1, kept 0", "wiper/K 1, kept 0"}, nil, ""},
		"more than is on hand":            {begun, used(11), nil, nil, inventory.ErrShort, "item seal: short: found 10 ea, expected 11 ea"},
		"another job's stays the other's": {append(slices.Clone(begun), asideFor("J", "seal", 5)), used(6), nil, nil, inventory.ErrShort, "found 5 ea, expected 6 ea"},
		"an expired lot":                  {begun, db.CloseJob{Job: "B", On: day(30), Used: []db.Line{{Item: "seal", Lot: "S", Qty: 1}}}, nil, nil, inventory.ErrConflict, "item seal lot S: conflict: it expires on 2026-03-30"},
		"twice":                           {append(slices.Clone(begun), used(3)), used(3), nil, nil, inventory.ErrConflict, "job B: conflict: it is done since 2026-03-09"},
		"a job nobody knows":              {nil, used(1), nil, nil, inventory.ErrNotFound, "job B: not found"},
		"a job called off":                {append(slices.Clone(begun), db.CancelJob{Job: "B", On: day(3)}), used(1), nil, nil, inventory.ErrConflict, "it is cancelled"},
		"before it was booked":            {begun, db.CloseJob{Job: "B", On: day(1)}, nil, nil, inventory.ErrConflict, "expected no day before it was booked, 2026-03-02"},
		"another unit":                    {begun, closed(func(c *db.CloseJob) { c.Unit = "U2" }), nil, nil, inventory.ErrConflict, "wrong unit: it is for U1, found U2"},
		"a unit where the job names none": {nil, db.CloseJob{Job: "J", Unit: "U1", On: day(2)}, nil, nil, inventory.ErrConflict, "wrong unit: it is for a fork, found U1"},
		"its meter and how it left": {begun, closed(func(c *db.CloseJob) {
			c.Unit, c.Reading, c.After = "U1", &inventory.Reading{Hours: 3, Reset: true}, &inventory.Setup{AirBar: value(6.0)}
		}), []string{"B after U1: 6 bar, rebound , compression , spacers , ", "B closed: ", "U1 at 3 h on 9, new", done}, []string{"seal/S 10, kept 0"}, nil, ""},
		"a closed job takes no more":       {append(slices.Clone(begun), used(3)), takeB, nil, nil, inventory.ErrConflict, "it is done"},
		"one more was used":                {append(slices.Clone(begun), used(3)), correct(lines("seal", 1), nil), []string{"B closed: ", "B corrected: miscounted", "B used 4 of seal/S", done}, []string{"seal/S 6, kept 0"}, nil, ""},
		"one less was used":                {append(slices.Clone(begun), used(3)), correct(nil, lines("seal", 1)), []string{"B closed: ", "B corrected: miscounted", "B used 2 of seal/S", done}, []string{"seal/S 8, kept 0"}, nil, ""},
		"none was used":                    {append(slices.Clone(begun), used(3)), correct(nil, lines("seal", 3)), []string{"B closed: ", "B corrected: miscounted", done}, []string{"seal/S 10, kept 0"}, nil, ""},
		"another item was used":            {append(slices.Clone(begun), receive("wiper", "W", 5), used(3)), correct(lines("wiper", 3), lines("seal", 3)), []string{"B closed: ", "B corrected: miscounted", "B used 3 of wiper/W", done}, []string{"seal/S 10, kept 0", "wiper/W 2, kept 0"}, nil, ""},
		"less than nothing was used":       {append(slices.Clone(begun), used(3)), correct(nil, lines("seal", 4)), nil, nil, inventory.ErrShort, "found 3 ea, expected 4 ea"},
		"a correction of a job still open": {begun, correct(lines("seal", 1), nil), nil, nil, inventory.ErrConflict, "it is booked; only a job that is done is corrected"},
		"a correction from before":         {append(slices.Clone(begun), used(3)), db.CorrectJob{Job: "B", More: lines("seal", 1), Reason: "x", On: day(8)}, nil, nil, inventory.ErrConflict, "it was done on 2026-03-09, found a correction of 2026-03-08"},
		"a use taken back":                 {append(slices.Clone(begun), used(3)), db.Reverse{Item: "seal", Lot: "S", Seq: 2, On: day(10)}, []string{"B closed: ", done}, []string{"seal/S 10, kept 0"}, nil, ""},
		"a use taken back beyond what is":  {append(slices.Clone(begun), used(3), correct(nil, lines("seal", 1))), db.Reverse{Item: "seal", Lot: "S", Seq: 2, On: day(11)}, nil, nil, inventory.ErrConflict, "job B has given some of it back; correct the job instead"},
		"a correction taken back":          {append(slices.Clone(begun), used(3), correct(nil, lines("seal", 1))), db.Reverse{Item: "seal", Lot: "S", Seq: 3, On: day(11)}, []string{"B closed: ", "B corrected: miscounted", "B used 3 of seal/S", done}, []string{"seal/S 7, kept 0"}, nil, ""},
	})
}
