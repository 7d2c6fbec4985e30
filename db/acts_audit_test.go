package db_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/inventory"
)

// A bill's lines, and what was gathered of spent fluids.
const wholeBillSQL = `
SELECT format('%s × %s: %s of %s from %s until %s, need %s, waste %s, %s', service, model, qty, item, NULLIF(valid_from, '-infinity'),
	NULLIF(valid_to, 'infinity'), need, waste, note) FROM circlip.bom_line WHERE workshop = $1
UNION ALL SELECT format('%s %s on %s #%s: %s ml, %s g, to %s, paper %s, %s', stream, moment, happened_on, number, volume_ml, weight_g,
	carrier, document, note) FROM circlip.disposal WHERE workshop = $1`

func (s *shop) bill(t failer) []string {
	t.Helper()
	return collect(t, s.admin, pgx.RowTo[string], wholeBillSQL+` ORDER BY 1`, s.workshop)
}

const wholeCountsSQL = `
SELECT format('%s counted on %s: %s%s', item, counted_on, qty, CASE WHEN act IS NULL THEN ', as told' END)
	FROM circlip.item_count WHERE workshop = $1
UNION ALL SELECT format('%s counted on %s, %s: %s in %s, %s less %s g at %s °C, opened %s', item, counted_on, number, qty, container,
	gross_g, tare_g, temp_c, opened_on) FROM circlip.count_part WHERE workshop = $1`

func (s *shop) counts(t failer) []string {
	t.Helper()
	return append([]string{}, collect(t, s.admin, pgx.RowTo[string], wholeCountsSQL+` ORDER BY 1`, s.workshop)...)
}

// in is one container of a count of oil.
func in(container string, number int, on inventory.Date, qty inventory.Quantity) inventory.CountPart {
	return inventory.CountPart{Item: "oil", Date: on, Number: number, Container: container, Qty: qty}
}

func countOfOil(on inventory.Date, found inventory.Quantity, parts ...inventory.CountPart) db.Count {
	return db.Count{Item: "oil", Found: found, Ref: "march", On: on, Parts: parts}
}

// Each row is a shelf, one act, and the counts and the shelf after it.
func TestACountIsKept(t *testing.T) {
	s := openShop(t)
	drum := receive("oil", "drum", 900)
	weighed := in("jug", 1, day(4), 500)
	weighed.Weighed = &inventory.Weighing{GrossG: 163.25, TareG: 120.5, TempC: value(21.5)}
	open := in("", 2, day(4), 300)
	open.OpenedOn = day(2)
	told := []string{"oil counted on 2026-03-04: 800"}
	full := []standing{{"oil", "drum", 900, 0}}
	eight := []standing{{"oil", "drum", 800, 0}}
	for name, c := range map[string]struct {
		before []db.Act
		act    db.Act
		counts []string
		shelf  []standing
		says   string // of a refusal
	}{
		"with a difference":    {[]db.Act{drum}, countOfOil(day(4), 800), told, eight, ""},
		"without a difference": {[]db.Act{drum}, countOfOil(day(4), 900), []string{"oil counted on 2026-03-04: 900"}, full, ""},
		"with its containers": {[]db.Act{drum}, countOfOil(day(4), 800, weighed, open), []string{
			"oil counted on 2026-03-04, 1: 500 in jug, 163.25 less 120.5 g at 21.5 °C, opened ",
			"oil counted on 2026-03-04, 2: 300 in ,  less  g at  °C, opened 2026-03-02", told[0]}, eight, ""},
		"a lot alone is no count of the item":   {[]db.Act{drum}, db.Count{Item: "oil", Lot: "drum", Found: 800, On: day(4)}, []string{}, eight, ""},
		"nothing, of what was never received":   {nil, countOfOil(day(4), 0), []string{"oil counted on 2026-03-04: 0"}, nil, ""},
		"some, of what was never received":      {nil, countOfOil(day(4), 1), []string{}, nil, "item oil: not found: no lot of it was ever received; receive what was found"},
		"nothing, of a lot that nobody has":     {nil, db.Count{Item: "oil", Lot: "drum", On: day(4)}, []string{}, nil, "item oil lot drum: not found"},
		"nothing, of an item that nobody has":   {nil, db.Count{Item: "oli", On: day(4)}, []string{}, nil, "item oli: not found"},
		"in a container that nobody has":        {[]db.Act{drum}, countOfOil(day(4), 800, in("mug", 1, day(4), 800)), []string{}, full, "item oil: not found: no container mug; add it to the book's containers with its empty weight"},
		"in a container of other things":        {[]db.Act{drum}, countOfOil(day(4), 800, in("box", 1, day(4), 800)), []string{}, full, "item oil: conflict: container box is for seal"},
		"of two on a day the later stands":      {[]db.Act{drum, countOfOil(day(4), 700, weighed, in("tin", 2, day(4), 200))}, countOfOil(day(4), 800, in("tin", 1, day(4), 800)), []string{"oil counted on 2026-03-04, 1: 800 in tin,  less  g at  °C, opened ", told[0]}, eight, ""},
		"the later without containers":          {[]db.Act{drum, countOfOil(day(4), 500, weighed)}, countOfOil(day(4), 800), told, eight, ""},
		"each day has its own":                  {[]db.Act{drum, countOfOil(day(3), 850)}, countOfOil(day(4), 800), []string{"oil counted on 2026-03-03: 850", told[0]}, eight, ""},
		"one that is undone is none":            {[]db.Act{drum, countOfOil(day(4), 500, weighed)}, db.Reverse{Item: "oil", Lot: "drum", Seq: 2, On: day(9)}, []string{}, full, ""},
		"one that was counted again stays":      {[]db.Act{drum, countOfOil(day(4), 500, weighed), countOfOil(day(4), 800)}, db.Reverse{Item: "oil", Lot: "drum", Seq: 2, On: day(9)}, told, []standing{{"oil", "drum", 1200, 0}}, ""},
		"the last of two undone leaves none":    {[]db.Act{drum, countOfOil(day(4), 500, weighed), countOfOil(day(4), 800)}, db.Reverse{Item: "oil", Lot: "drum", Seq: 3, On: day(9)}, []string{}, []standing{{"oil", "drum", 500, 0}}, ""},
		"one that cannot be undone stays":       {[]db.Act{drum, countOfOil(day(4), 950), take("J", "oil", 940)}, db.Reverse{Item: "oil", Lot: "drum", Seq: 2, On: day(9)}, []string{"oil counted on 2026-03-04: 950"}, []standing{{"oil", "drum", 10, 0}}, "item oil lot drum: short: found 1 ml, expected 5 ml"},
		"another movement undone changes none":  {[]db.Act{drum, countOfOil(day(4), 800), take("J", "oil", 40)}, db.Reverse{Item: "oil", Lot: "drum", Seq: 3, On: day(9)}, told, eight, ""},
		"of several lots, one undone is enough": {[]db.Act{drum, receive("oil", "can", 100), countOfOil(day(4), 50)}, db.Reverse{Item: "oil", Lot: "can", Seq: 2, On: day(9)}, []string{}, []standing{{"oil", "can", 100, 0}, {"oil", "drum", 50, 0}}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			s := *s
			s.workshop = s.another(t)
			for _, act := range c.before {
				s.must(t, act)
			}
			key := uuid.New()
			done, err := s.Do(t.Context(), s.workshop, key, c.act)
			if (err == nil) != (c.says == "") || err != nil && !strings.HasSuffix(err.Error(), c.says) {
				t.Errorf("found error %v, expected %q", err, c.says)
			}
			if diff := cmp.Diff(c.counts, s.counts(t)); diff != "" {
				t.Errorf("counts (-expected +found):\n%s", diff)
			}
			if diff := cmp.Diff(c.shelf, s.standing(t)); diff != "" && len(c.shelf)+len(s.standing(t)) > 0 {
				t.Errorf("shelf (-expected +found):\n%s", diff)
			}
			s.mustBeSound(t)
			s.mustAnswerAgain(t, key, c.act, done, err)
		})
	}
}

// What a book told of a count stands; so does the book told again after an act.
func TestACountOfTheBookStands(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("oil", "drum", 900))
	s.exec(t, `INSERT INTO circlip.item_count (workshop, item, counted_on, qty) VALUES ($1, 'oil', '2026-03-04', 880)`, s.workshop)
	_, err := s.Do(t.Context(), s.workshop, uuid.New(), countOfOil(day(4), 800))
	want := "count: item oil: conflict: the book has a count of it on 2026-03-04, which stands; count it on another day"
	if !errors.Is(err, inventory.ErrConflict) || err.Error() != want {
		t.Errorf("found %v, expected %s", err, want)
	}
	s.must(t, countOfOil(day(5), 800))
	if diff := cmp.Diff([]string{"oil counted on 2026-03-04: 880, as told", "oil counted on 2026-03-05: 800"}, s.counts(t)); diff != "" {
		t.Errorf("counts (-expected +found):\n%s", diff)
	}
	if diff := cmp.Diff([]standing{{"oil", "drum", 800, 0}}, s.standing(t)); diff != "" {
		t.Errorf("shelf (-expected +found):\n%s", diff)
	}
	s.mustBeSound(t)
}

// A request that did not pass through the program is looked at by the ledger too.
func TestTheLedgerAddsUpContainersItself(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("oil", "drum", 900))
	answer := collect(t, s.admin, pgx.RowTo[string], `SELECT circlip.perform($1, gen_random_uuid(), 'count',
		'{"item": "oil", "lot": "", "found": 800, "ref": "", "on": "2026-03-04", "parts": [{"qty": 500}, {"qty": 200}]}')::text`, s.workshop)
	if want := "its containers hold 70 ml, found 80 ml, expected as much in all"; !strings.Contains(answer[0], want) {
		t.Errorf("found %s, expected %s", answer[0], want)
	}
	if len(s.counts(t)) > 0 {
		t.Errorf("found %v, expected nothing kept", s.counts(t))
	}
	s.mustBeSound(t)
}

// The bill that openShop makes.
const (
	always = "fork service × *: 400 of oil from  until 2026-06-01, need 1, waste 0.1, by the book"
	later  = "fork service × *: 500 of oil from 2026-07-01 until , need 1, waste 0.1, "
	wipers = "fork service × *: 2 of wiper from 2026-03-10 until , need 0.5, waste 0.1, "
)

// Each row is an act, and the bill after it.
func TestRevisingABill(t *testing.T) {
	s := openShop(t)
	june, july := inventory.NewDate(2026, 6, 1), inventory.NewDate(2026, 7, 1)
	revised := func(item string, qty inventory.Quantity, from inventory.Date) db.ReviseBill {
		return db.ReviseBill{Service: "fork service", Model: "*", Item: item, Qty: qty, From: from, Note: "the audit of March", On: day(31)}
	}
	of := func(change func(b *db.ReviseBill)) db.ReviseBill {
		b := revised("oil", 450, day(9))
		change(&b)
		return b
	}
	for name, c := range map[string]struct {
		before []db.Act
		act    db.Act
		lines  []string // in place of always, later and wipers
		err    error
		says   string
	}{
		"the old line is kept for what was before": {nil, revised("oil", 450, day(9)), []string{
			"fork service × *: 400 of oil from  until 2026-03-09, need 1, waste 0.1, by the book",
			"fork service × *: 450 of oil from 2026-03-09 until 2026-06-01, need 1, waste 0.1, the audit of March", later, wipers}, nil, ""},
		"a line without an end has none": {nil, of(func(b *db.ReviseBill) { b.From, b.Note = july+1, "" }), []string{
			always, "fork service × *: 450 of oil from 2026-07-02 until , need 1, waste 0.1, ",
			"fork service × *: 500 of oil from 2026-07-01 until 2026-07-02, need 1, waste 0.1, ", wipers}, nil, ""},
		"a need stays as it was": {nil, revised("wiper", 3, day(11)), []string{
			always, "fork service × *: 2 of wiper from 2026-03-10 until 2026-03-11, need 0.5, waste 0.1, ",
			"fork service × *: 3 of wiper from 2026-03-11 until , need 0.5, waste 0.1, the audit of March", later}, nil, ""},
		"what was revised is revised": {[]db.Act{revised("oil", 450, day(9))}, revised("oil", 420, day(19)), []string{
			"fork service × *: 400 of oil from  until 2026-03-09, need 1, waste 0.1, by the book",
			"fork service × *: 420 of oil from 2026-03-19 until 2026-06-01, need 1, waste 0.1, the audit of March",
			"fork service × *: 450 of oil from 2026-03-09 until 2026-03-19, need 1, waste 0.1, the audit of March", later, wipers}, nil, ""},
		"not from the day on which it begins": {[]db.Act{revised("oil", 450, day(9))}, revised("oil", 420, day(9)), nil, inventory.ErrConflict,
			"item oil: conflict: the bill of service fork service on model * has a line of it that begins on 2026-03-09, with 45 ml; revise it from another day"},
		"not to what it is": {nil, revised("oil", 500, july+9), nil, inventory.ErrConflict,
			"item oil: conflict: the bill of service fork service on model * says 50 ml on 2026-07-10 already"},
		"not where no line holds":      {nil, revised("oil", 450, june), nil, inventory.ErrNotFound, "item oil: not found: the bill of service fork service on model * has no line of it that holds on 2026-06-01"},
		"not before the line begins":   {nil, revised("wiper", 3, day(9)), nil, inventory.ErrNotFound, "has no line of it that holds on 2026-03-09"},
		"not of what it does not take": {nil, revised("seal", 3, day(9)), nil, inventory.ErrNotFound, "item seal: not found: the bill of"},
		"not of one model, where it is of every": {nil, of(func(b *db.ReviseBill) { b.Model = "fork" }), nil, inventory.ErrNotFound,
			"the bill of service fork service on model fork has no line"},
		"not of a service nobody knows": {nil, of(func(b *db.ReviseBill) { b.Service = "wash" }), nil, inventory.ErrNotFound, "service wash"},
		"nor of an item nobody has":     {nil, revised("oli", 3, day(9)), nil, inventory.ErrNotFound, "item oli: not found"},
	} {
		t.Run(name, func(t *testing.T) {
			s := *s
			s.workshop = s.another(t)
			for _, act := range c.before {
				s.must(t, act)
			}
			lines := s.bill(t)
			key := uuid.New()
			done, err := s.Do(t.Context(), s.workshop, key, c.act)
			if !errors.Is(err, c.err) || err != nil && !strings.Contains(err.Error(), c.says) {
				t.Errorf("found error %v, expected %v: %s", err, c.err, c.says)
			}
			if c.lines != nil {
				lines = slices.Sorted(slices.Values(c.lines))
			}
			s.mustAnswerAgain(t, key, c.act, done, err)
			found := slices.Sorted(slices.Values(s.bill(t)))
			slices.Sort(lines)
			if diff := cmp.Diff(lines, found); diff != "" {
				t.Errorf("bill (-expected +found):\n%s", diff)
			}
			s.mustBeSound(t)
		})
	}
}

// Disposals are numbered day by day, and the answer tells the number, also when it
// is asked for again.
func TestDisposing(t *testing.T) {
	s := openShop(t)
	oil := db.Dispose{Disposal: inventory.Disposal{Date: day(4), Stream: inventory.UsedOil, VolumeML: value(1850.5), Note: "drain tray"}}
	gone := db.Dispose{Disposal: inventory.Disposal{Date: day(4), Stream: inventory.UsedSolvent, HandedOver: true, WeightG: value(4200.0), Carrier: "Tanner & Daughter", Document: "W-77"}}
	next := oil
	next.Date = day(5)
	for n, c := range []struct {
		act  db.Dispose
		want int
	}{{oil, 1}, {gone, 2}, {next, 1}, {oil, 3}} {
		key := uuid.New()
		done, err := s.Do(t.Context(), s.workshop, key, c.act)
		if diff := cmp.Diff(db.Done{Number: c.want}, done); diff != "" || err != nil {
			t.Errorf("answer %d (-expected +found): %v\n%s", n, err, diff)
		}
		s.mustAnswerAgain(t, key, c.act, done, err)
	}
	want := []string{
		"oil gathered on 2026-03-04 #1: 1850.5 ml,  g, to , paper , drain tray",
		"oil gathered on 2026-03-04 #3: 1850.5 ml,  g, to , paper , drain tray",
		"oil gathered on 2026-03-05 #1: 1850.5 ml,  g, to , paper , drain tray",
		"solvent handed-over on 2026-03-04 #2:  ml, 4200 g, to Tanner & Daughter, paper W-77, ",
	}
	found := slices.DeleteFunc(s.bill(t), func(line string) bool { return strings.HasPrefix(line, "fork service") })
	if diff := cmp.Diff(want, found); diff != "" {
		t.Errorf("disposals (-expected +found):\n%s", diff)
	}
	s.mustBeSound(t)
}

// Two that dispose, revise a bill or count at the same moment do so one after the
// other.
func TestTwoAtOnceTakeTurns(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("oil", "drum", 900))
	const clients = 6
	var numbers, revised [clients]int
	var wait sync.WaitGroup
	for i := range clients {
		wait.Go(func() {
			done, err := s.Do(t.Context(), s.workshop, uuid.New(), db.Dispose{Disposal: inventory.Disposal{Date: day(4), Stream: inventory.UsedGrease, WeightG: value(10.0)}})
			if err != nil {
				t.Error(err)
			}
			numbers[i] = done.Number
			_, err = s.Do(t.Context(), s.workshop, uuid.New(), db.ReviseBill{Service: "fork service", Model: "*", Item: "oil", Qty: 410, From: day(9), On: day(9)})
			switch {
			case err == nil:
				revised[i] = 1
			case !errors.Is(err, inventory.ErrConflict):
				t.Error(err)
			}
			found := inventory.Quantity(700 + i)
			if _, err := s.Do(t.Context(), s.workshop, uuid.New(), countOfOil(day(4), found, in("jug", 1, day(4), found))); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	if got := slices.Sorted(slices.Values(numbers[:])); !slices.Equal(got, []int{1, 2, 3, 4, 5, 6}) {
		t.Errorf("found numbers %v, expected each once", got)
	}
	if got := slices.Sorted(slices.Values(revised[:])); !slices.Equal(got, []int{0, 0, 0, 0, 0, 1}) {
		t.Errorf("found %v revisions, expected one of the same by six", got)
	}
	s.mustBeSound(t) // what is counted is in one container, whoever came last
	shelf := s.standing(t)[0].OnHand
	want := []string{fmt.Sprintf("oil counted on 2026-03-04, 1: %d in jug,  less  g at  °C, opened ", shelf), fmt.Sprintf("oil counted on 2026-03-04: %d", shelf)}
	if diff := cmp.Diff(want, s.counts(t)); diff != "" {
		t.Errorf("counts (-expected +found):\n%s", diff)
	}
}

func TestWhatAnAuditCannotUseIsNotSent(t *testing.T) {
	s := openShop(t)
	count := func(change func(c *db.Count)) db.Count {
		c := countOfOil(day(4), 800, in("jug", 1, day(4), 500), in("tin", 2, day(4), 300))
		c.Parts[0].Weighed = &inventory.Weighing{GrossG: 500, TareG: 100, TempC: value(20.0)}
		change(&c)
		return c
	}
	bill := func(change func(b *db.ReviseBill)) db.ReviseBill {
		b := db.ReviseBill{Service: "fork service", Model: "*", Item: "oil", Qty: 410, From: day(9), On: day(9)}
		change(&b)
		return b
	}
	spent := func(change func(d *db.Dispose)) db.Dispose {
		d := db.Dispose{Disposal: inventory.Disposal{Date: day(4), Stream: inventory.UsedOil, VolumeML: value(5.0), WeightG: value(4.0), HandedOver: true, Carrier: "Tanner"}}
		change(&d)
		return d
	}
	s.mustNotSend(t, map[string]db.Act{
		"containers of one lot":          count(func(c *db.Count) { c.Lot = "drum" }),
		"containers that hold less":      count(func(c *db.Count) { c.Found = 801 }),
		"a container of another item":    count(func(c *db.Count) { c.Parts[1].Item = "seal" }),
		"a container of another day":     count(func(c *db.Count) { c.Parts[1].Date = day(5) }),
		"containers out of order":        count(func(c *db.Count) { c.Parts[1].Number = 3 }),
		"a container below zero":         count(func(c *db.Count) { c.Parts[0].Qty, c.Parts[1].Qty = 900, -100 }),
		"a container opened afterwards":  count(func(c *db.Count) { c.Parts[1].OpenedOn = day(5) }),
		"a gross weight below the tare":  count(func(c *db.Count) { c.Parts[0].Weighed.GrossG = 99 }),
		"a tare below zero":              count(func(c *db.Count) { c.Parts[0].Weighed.TareG = -1 }),
		"a weight that is no number":     count(func(c *db.Count) { c.Parts[0].Weighed.GrossG = math.NaN() }),
		"a weight without end":           count(func(c *db.Count) { c.Parts[0].Weighed.GrossG = math.Inf(1) }),
		"a temperature that is none":     count(func(c *db.Count) { c.Parts[0].Weighed.TempC = value(math.NaN()) }),
		"a bill of no service":           bill(func(b *db.ReviseBill) { b.Service = "" }),
		"a bill of no model":             bill(func(b *db.ReviseBill) { b.Model = "" }),
		"a bill of no item":              bill(func(b *db.ReviseBill) { b.Item = "" }),
		"a bill of nothing":              bill(func(b *db.ReviseBill) { b.Qty = 0 }),
		"a bill from no day":             bill(func(b *db.ReviseBill) { b.From = 0 }),
		"a bill revised on no day":       bill(func(b *db.ReviseBill) { b.On = 0 }),
		"a disposal on no day":           spent(func(d *db.Dispose) { d.Date = 0 }),
		"a number of its own":            spent(func(d *db.Dispose) { d.Number = 1 }),
		"a stream nobody gathers":        spent(func(d *db.Dispose) { d.Stream = "water" }),
		"no amount":                      spent(func(d *db.Dispose) { d.VolumeML, d.WeightG = nil, nil }),
		"an amount of nothing":           spent(func(d *db.Dispose) { d.VolumeML = value(0.0) }),
		"an amount that is no number":    spent(func(d *db.Dispose) { d.WeightG = value(math.NaN()) }),
		"an amount without end":          spent(func(d *db.Dispose) { d.WeightG = value(math.Inf(1)) }),
		"something handed over to blank": spent(func(d *db.Dispose) { d.Carrier = " " }),
	})
}

// Who did a job is kept with it, and blanks are nobody.
func TestWhoClosedAJob(t *testing.T) {
	s := openShop(t)
	s.must(t, db.CloseJob{Job: "J", By: " Nell ", On: day(2)})
	s.must(t, db.CloseJob{Job: "K", By: " ", On: day(2)})
	s.must(t, db.CloseJob{Job: "L", On: day(2)})
	found := slices.DeleteFunc(s.jobs(t), func(line string) bool { return !strings.HasPrefix(line, "job") })
	if diff := cmp.Diff([]string{"job J done, bench 1, done 2 by Nell", "job K done, bench 1, done 2", "job L done, bench 1, done 2"}, found); diff != "" {
		t.Errorf("(-expected +found):\n%s", diff)
	}
}
