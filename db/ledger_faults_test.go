package db_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/db/dbtest"
	"circlip/inventory"
)

// eachAct is one act of every kind, on a shelf that allows it.
var eachAct = map[string]db.Act{
	"receive":   receive("wiper", "new", 5),
	"take":      db.Take{Job: "J", On: day(2), Lines: []db.Line{{Item: "seal", Qty: 6}, {Item: "oil", Qty: 100}}},
	"set aside": db.SetAside{Job: "K", On: day(2), Lines: []db.Line{{Item: "seal", Qty: 3}, {Item: "oil", Qty: 50}}},
	"release":   db.Release{Job: "J", On: day(2)},
	"waste":     db.Waste{Item: "seal", Qty: 9, On: day(2)},
	"count":     db.Count{Item: "seal", Found: 1, On: day(2)},
	"reverse":   db.Reverse{Item: "oil", Lot: "drum", Seq: 1, On: day(2)},
	"a refusal": take("J", "seal", 99),
	"place":     place("PO-8", db.PlaceLine{Item: "seal", Packs: 2, PackQty: 10}, db.PlaceLine{Item: "oil", Packs: 1, PackQty: 500}),
	"deliver": db.Deliver{Order: "PO-7", On: day(3), Closed: true, Lines: []db.DeliverLine{
		{Item: "seal", Packs: 1, Qty: 5}, {Item: "wiper", Packs: 1, Qty: 4, Expires: day(9)}}},
	"a delivery taken back": db.Reverse{Item: "wiper", Lot: "PO-7", Seq: 1, On: day(4)},
	"open kit":              openKit("", 2),
	"extend":                inspect("seal", "A", day(31)),
	"open container":        db.OpenContainer{Item: "oil", Lot: "drum", Qty: 100, Until: day(20), On: day(4)},
	"book job": db.BookJob{Job: "B", Unit: "U1", Services: []string{"fork service"}, On: day(2), Bench: day(9),
		Reading: &inventory.Reading{Hours: 4}, Before: &inventory.Setup{Note: "soft"}},
	"move job":      db.MoveJob{Job: "J", On: day(2), Bench: day(9)},
	"cancel job":    db.CancelJob{Job: "J", On: day(2)},
	"set aside all": db.SetAsideAll{On: day(2), Jobs: []db.JobLines{{Job: "J", Lines: lines("seal", 4)}, {Job: "K", Lines: lines("seal", 4)}}},
	"take over":     db.TakeOver{From: "J", Job: "K", Reason: "it leaves first", On: day(2)},
	"close job": db.CloseJob{Job: "D", By: "Ann", On: day(3), Used: lines("seal", 2), Wasted: lines("oil", 50), Back: lines("wiper", 1),
		Reading: &inventory.Reading{Hours: 9}, After: &inventory.Setup{AirBar: value(5.5)}},
	"correct job":            db.CorrectJob{Job: "Z", More: lines("seal", 1), Less: lines("kit", 1), Reason: "miscounted", On: day(4)},
	"a closed job's reverse": db.Reverse{Item: "kit", Lot: "K", Seq: 2, On: day(4)},
	"a count in containers":  countOfOil(day(2), 1000, in("jug", 1, day(2), 700), in("tin", 2, day(2), 300)),
	"a count's reverse":      db.Reverse{Item: "oil", Lot: "drum", Seq: 2, On: day(4)},
	"revise bill":            db.ReviseBill{Service: "fork service", Model: "*", Item: "oil", Qty: 420, From: day(9), Note: "weighed", On: day(4)},
	"dispose":                db.Dispose{Disposal: inventory.Disposal{Date: day(4), Stream: inventory.UsedOil, VolumeML: value(350.0)}},
}

// stock fills a new workshop of s for eachAct: two lots of seals, some set
// aside, a drum, kits, and an order of which some has come.
func (s *shop) stock(t failer) {
	t.Helper()
	s.workshop = s.another(t)
	s.must(t, receive("seal", "A", 5))
	s.must(t, receive("seal", "B", 5))
	s.must(t, receive("oil", "drum", 900))
	s.must(t, db.SetAside{Job: "J", On: day(1), Lines: []db.Line{{Item: "seal", Qty: 4}}})
	s.must(t, receive("kit", "K", 3))
	s.must(t, place("PO-7", db.PlaceLine{Item: "seal", Packs: 2, PackQty: 5}, db.PlaceLine{Item: "wiper", Packs: 3, PackQty: 5}))
	s.must(t, deliver("PO-7", db.DeliverLine{Item: "wiper", Packs: 1, Qty: 5}))
}

// stockJobs also has a job Z that is closed and a job D that has begun; its oil
// was counted, and some solvent gathered.
func (s *shop) stockJobs(t failer) {
	t.Helper()
	s.stock(t)
	s.must(t, db.CloseJob{Job: "Z", On: day(1), Used: lines("kit", 1)})
	s.must(t, db.BookJob{Job: "D", Unit: "U1", Services: []string{"fork service"}, On: day(1), Bench: day(3)})
	s.must(t, receive("wiper", "W", 4))
	s.must(t, db.Take{Job: "D", On: day(2), Lines: lines("wiper", 2)})
	s.must(t, db.SetAside{Job: "D", On: day(2), Lines: lines("seal", 3)})
	s.must(t, countOfOil(day(2), 910, in("", 1, day(2), 910)))
	s.must(t, db.Dispose{Disposal: inventory.Disposal{Date: day(4), Stream: inventory.UsedSolvent, WeightG: value(90.0)}})
}

// ledger is all that acts leave behind, read in one statement: an act whose
// connection was lost may end while it is read.
func (s *shop) ledger(t failer) []string {
	t.Helper()
	whole := strings.Join([]string{wholeLedgerSQL, wholeCountsSQL, wholeBillSQL, wholeJobsSQL}, " UNION ALL ")
	rows := collect(t, s.admin, pgx.RowTo[string], whole, s.workshop)
	slices.Sort(rows)
	return rows
}

// outcome is what a clean run of the act does: the shelf before and after, and
// the answer.
func (s *shop) outcome(t failer, act db.Act) (before, after []string, answer string) {
	t.Helper()
	s.stockJobs(t)
	before = s.ledger(t)
	done, err := s.Do(context.Background(), s.workshop, uuid.New(), act)
	return before, s.ledger(t), fmt.Sprint(done, err)
}

// Every call of every act fails once, in three ways. At that moment the act is
// wholly there or wholly absent; the same key then gives the answer of a clean
// run, and the shelf is that of a clean run.
func TestAnActWithItsNthCallSpoiled(t *testing.T) {
	s := openShop(t)
	w, through := newWire(t, s.dsn)
	store := dbtest.OpenDSN(t, through)
	cases, present := 0, 0
	for name, act := range eachAct {
		before, after, answer := s.outcome(t, act)
		for _, how := range everyFault {
			for n := 1; ; n++ {
				s.stockJobs(t)
				store.HangUp() // so that the start of a session is spoiled too
				key := uuid.New()
				ctx, stop := context.WithCancel(t.Context())
				w.arm(n, how, stop) // one attempt only
				_, firstErr := store.Do(ctx, s.workshop, key, act)
				stop()
				if !w.hit() {
					if n < 4 {
						t.Errorf("%s: found %d calls, expected a session's start, its settings and the act", name, n-1)
					}
					break
				}
				cases++
				between := s.ledger(t)
				if cmp.Equal(between, after) {
					present++
				} else if !cmp.Equal(between, before) {
					t.Errorf("%s, call %d %s: half done:\n%s", name, n, how, cmp.Diff(before, between))
				}
				done, err := store.Do(t.Context(), s.workshop, key, act)
				if got := fmt.Sprint(done, err); got != answer {
					t.Errorf("%s, call %d %s (%v): the same key answered %s, expected %s", name, n, how, firstErr, got, answer)
				}
				if diff := cmp.Diff(after, s.ledger(t)); diff != "" {
					t.Errorf("%s, call %d %s: (-expected +found)\n%s", name, n, how, diff)
				}
				s.mustBeSound(t)
			}
		}
	}
	t.Logf("%d cases, in %d of them the act was done when the connection was lost", cases, present)
	if present == 0 || present == cases {
		t.Error("expected the act to be there in some cases and absent in others")
	}
}

// A lost connection is not the caller's concern: the act is tried again under
// its key and done once.
func TestALostConnectionIsTriedAgain(t *testing.T) {
	s := openShop(t)
	w, through := newWire(t, s.dsn)
	store := dbtest.OpenDSN(t, through)
	for name, act := range eachAct {
		_, after, answer := s.outcome(t, act)
		for _, how := range []fault{lostBefore, lostAfter} {
			for n := 1; n <= 3; n++ {
				s.stockJobs(t)
				store.HangUp()
				w.arm(n, how, func() {})
				done, err := store.Do(t.Context(), s.workshop, uuid.New(), act)
				if got := fmt.Sprint(done, err); got != answer || !w.hit() {
					t.Errorf("%s, call %d %s: found %s, expected %s", name, n, how, got, answer)
				}
				if diff := cmp.Diff(after, s.ledger(t)); diff != "" {
					t.Errorf("%s, call %d %s: (-expected +found)\n%s", name, n, how, diff)
				}
			}
		}
	}
}

const spoilRowSQL = `
CREATE SEQUENCE circlip.rows_written;
GRANT USAGE, UPDATE ON circlip.rows_written TO PUBLIC;
CREATE FUNCTION circlip.spoil_row() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF nextval('circlip.rows_written') = current_setting('test.spoil')::bigint THEN
		RAISE EXCEPTION 'spoiled in the server' USING ERRCODE = 'XX000';
	END IF;
	RETURN NEW;
END $$;
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.lot FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT OR UPDATE ON circlip.balance FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.movement FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.set_aside FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.order_sheet FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT OR UPDATE ON circlip.order_line FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.delivery FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.inspection FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT OR UPDATE ON circlip.job FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT OR UPDATE ON circlip.job_use FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.job_act FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.reading FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.setup FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT OR UPDATE ON circlip.item_count FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.count_part FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT OR UPDATE ON circlip.bom_line FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.disposal FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();
CREATE TRIGGER zz_spoil BEFORE INSERT ON circlip.act FOR EACH ROW EXECUTE FUNCTION circlip.spoil_row();`

// The same inside the server: the n-th row that an act writes fails, for every
// n, and nothing of the act stays.
func TestAnActWithItsNthRowSpoiled(t *testing.T) {
	s := openShop(t)
	s.exec(t, `SET test.spoil = 0`)
	s.exec(t, fmt.Sprintf(`ALTER DATABASE %s SET test.spoil = 0`, s.admin.Config().Database))
	spoiled := &shop{dsn: s.dsn, admin: s.admin}
	if _, err := s.admin.Exec(t.Context(), spoilRowSQL, pgx.QueryExecModeSimpleProtocol); err != nil {
		t.Fatal(err)
	}
	cases := 0
	for name, act := range eachAct {
		spoiled.Store = dbtest.OpenDSN(t, s.dsn)
		before, after, answer := spoiled.outcome(t, act)
		for n := 1; ; n++ {
			spoiled.stockJobs(t)
			s.exec(t, `SELECT setval('circlip.rows_written', 1, false)`)
			store := dbtest.OpenDSN(t, s.dsn+fmt.Sprintf(" options='-c test.spoil=%d'", n))
			key := uuid.New()
			done, err := store.Do(t.Context(), spoiled.workshop, key, act)
			store.Close()
			if fmt.Sprint(done, err) == answer {
				break
			}
			cases++
			if diff := cmp.Diff(before, spoiled.ledger(t)); diff != "" {
				t.Errorf("%s, row %d: half done (-before +found)\n%s", name, n, diff)
			}
			done, err = spoiled.Do(t.Context(), spoiled.workshop, key, act)
			if got := fmt.Sprint(done, err); got != answer {
				t.Errorf("%s, row %d: the same key answered %s, expected %s", name, n, got, answer)
			}
			if diff := cmp.Diff(after, spoiled.ledger(t)); diff != "" {
				t.Errorf("%s, row %d (-expected +found)\n%s", name, n, diff)
			}
			spoiled.mustBeSound(t)
		}
	}
	if t.Logf("%d cases", cases); cases < 3*len(eachAct) {
		t.Errorf("found %d cases, expected some three an act", cases)
	}
}

// A database that stays away is given up on, and says so.
func TestADatabaseThatStaysAwayIsGivenUp(t *testing.T) {
	s := openShop(t)
	w, through := newWire(t, s.dsn)
	store := dbtest.OpenDSN(t, through)
	store.SetPatience(300_000_000)
	var again func()
	again = func() { go w.arm(1, lostBefore, again) }
	w.arm(1, lostBefore, again)
	_, err := store.Do(t.Context(), s.workshop, uuid.New(), receive("seal", "A", 1))
	if !errors.Is(err, inventory.ErrUnavailable) {
		t.Errorf("found %v, expected it to be unavailable", err)
	}
	t.Log(err)
}
