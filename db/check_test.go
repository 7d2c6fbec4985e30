package db_test

import (
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/inventory"
)

// tamperable are the tables that a tamperer may turn to.
var tamperable = []string{"lot", "balance", "act", "movement", "set_aside", "seal", "seal_head", "order_line", "order_sheet",
	"delivery", "inspection", "job", "job_use", "job_act", "item_count", "count_part", "disposal"}

// tampering runs statements as a superuser with every trigger asleep, as
// somebody would who has the server's files, and returns how many rows they
// changed.
func (s *shop) tampering(t testing.TB, statements ...string) (rows int64) {
	t.Helper()
	ctx := context.Background()
	err := pgx.BeginFunc(ctx, s.admin, func(tx pgx.Tx) error {
		var asleep, awake []string
		for _, table := range tamperable {
			asleep = append(asleep, `ALTER TABLE circlip.`+table+` DISABLE TRIGGER ALL`)
			awake = append(awake, `ALTER TABLE circlip.`+table+` ENABLE TRIGGER ALL`)
		}
		for _, g := range db.Guards {
			awake = append(awake, fmt.Sprintf(`ALTER TABLE circlip.%s ENABLE ALWAYS TRIGGER %s`, g.Table, g.Trigger))
		}
		if _, err := tx.Exec(ctx, strings.Join(asleep, ";"), pgx.QueryExecModeSimpleProtocol); err != nil {
			return err
		}
		for _, sql := range statements {
			tag, err := tx.Exec(ctx, sql)
			if err != nil {
				return fmt.Errorf("%s: %w", sql, err)
			}
			rows += tag.RowsAffected()
		}
		_, err := tx.Exec(ctx, strings.Join(awake, ";"), pgx.QueryExecModeSimpleProtocol)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// keepCopies keeps the tables as they are; putBack puts them back.
func (s *shop) keepCopies(t testing.TB) {
	t.Helper()
	for _, table := range tamperable {
		s.exec(t, `CREATE TABLE public.kept_`+table+` AS SELECT * FROM circlip.`+table)
	}
}

func (s *shop) putBack(t testing.TB) {
	t.Helper()
	var back []string
	for _, table := range tamperable {
		back = append(back, `DELETE FROM circlip.`+table, `INSERT INTO circlip.`+table+` SELECT * FROM public.kept_`+table)
	}
	s.tampering(t, back...)
}

// busy is a shop with some movements in three lots, sealed twice, and with
// stock that went on as something else.
func busy(t testing.TB) *shop {
	t.Helper()
	s := openShop(t)
	s.stock(t)
	s.must(t, take("J", "seal", 6))
	s.must(t, db.Waste{Item: "oil", Qty: 20, On: day(3)})
	s.seal(t, 4)
	s.must(t, receive("seal", "A", 7))
	s.must(t, take("K", "seal", 2))
	s.must(t, db.Reverse{Item: "oil", Lot: "drum", Seq: 2, On: day(5)})
	s.must(t, db.SetAside{Job: "L", On: day(5), Lines: []db.Line{{Item: "seal", Qty: 3}}})
	s.seal(t, 5)
	s.must(t, take("M", "oil", 300))
	s.must(t, openKit("", 1))
	s.must(t, inspect("kit", "K", day(31)))
	s.must(t, db.OpenContainer{Item: "wiper", Lot: "PO-7", Qty: 2, Until: day(20), On: day(6)})
	s.must(t, db.Receive{Item: "oil", Lot: "can", Qty: 50, On: day(6), Expires: day(9)})
	s.must(t, db.SetAside{Job: "Z", On: day(6), Lines: lines("oil", 5)})
	s.must(t, takeOver("Z", "A"))
	s.must(t, db.CloseJob{Job: "M", On: day(6), Used: lines("oil", 7)})
	var oil inventory.Quantity // as it is, so that nothing moves
	for _, b := range s.standing(t) {
		if b.Item == "oil" {
			oil += inventory.Quantity(b.OnHand)
		}
	}
	s.must(t, countOfOil(day(6), oil, in("jug", 1, day(6), 43), in("tin", 2, day(6), oil-43)))
	for range 2 {
		s.must(t, db.Dispose{Disposal: inventory.Disposal{Date: day(6), Stream: inventory.UsedOil, VolumeML: value(40.0)}})
	}
	s.mustBeSound(t)
	return s
}

func (s *shop) seal(t testing.TB, on int) [32]byte {
	t.Helper()
	seal, err := s.Seal(context.Background(), s.workshop, day(on))
	if err != nil {
		t.Fatal(err)
	}
	return seal
}

// Each row is an edit past the triggers, and the rule, item, lot and movement
// that Check names.
func TestCheckNamesWhatWasTamperedWith(t *testing.T) {
	s := busy(t)
	s.keepCopies(t)
	const at = ` WHERE item = 'seal' AND lot = 'A'`
	link, numbers, head := "each movement carries the hash of those before it", "movements of a lot are numbered without a gap", "a balance knows its lot's last movement"
	onHand, proof := "a balance is the sum of its movements", "an act has the movements that it was recorded with"
	goesOn, kits := "stock that goes on under another lot goes on whole", "what comes out of kits goes in by the same act"
	brought, received := "a delivery has its movement from the supplier", "an order's line has received what was delivered of it"
	sheet, inspected := "a sheet that was placed has its order", "an inspection took its lot on"
	const opened, parts = ` WHERE ref = 'opened' AND from_place = 'lot'`, ` WHERE from_place = 'kit' AND item = 'wiper'`
	sealed, sealRule := "a sealed movement stays as it was", "a seal vouches for the movements of its day and the seal before"
	closed, used := "a job that was closed is done on that day", "a job that was closed used what it took"
	open, said := "only a booked job has anything set aside", "what was said of a job has its act"
	numbered := "disposals of a day, and containers of a count, are numbered without a gap"
	contained, disposed := "the containers of a count hold what was found", "a disposal by an act has its act, and the act its disposal"
	for name, c := range map[string]struct {
		sql  string
		want []string // each must be among the findings
	}{
		"a quantity":               {`UPDATE circlip.movement SET qty = qty + 1` + at + ` AND seq = 3`, []string{link + ": item seal lot A movement 3", onHand + ": item seal lot A"}},
		"a place":                  {`UPDATE circlip.movement SET to_place = 'waste'` + at + ` AND seq = 2`, []string{link + ": item seal lot A movement 2"}},
		"a day":                    {`UPDATE circlip.movement SET happened_on = '2026-03-09'` + at + ` AND seq = 2`, []string{link + ": item seal lot A movement 2"}},
		"a job":                    {`UPDATE circlip.movement SET ref = 'other'` + at + ` AND seq = 2`, []string{link + ": item seal lot A movement 2"}},
		"a hash":                   {`UPDATE circlip.movement SET hash = sha256('')` + at + ` AND seq = 2`, []string{link + ": item seal lot A movement 2", link + ": item seal lot A movement 3"}},
		"a row cut out":            {`DELETE FROM circlip.movement` + at + ` AND seq = 2`, []string{numbers + ": item seal lot A movement 3", proof}},
		"the tail cut off":         {`DELETE FROM circlip.movement WHERE item = 'oil' AND seq = 4`, []string{head + ": item oil lot drum movement 3", proof}},
		"a lot cut whole":          {`DELETE FROM circlip.movement` + at, []string{head + ": item seal lot A", sealed + ": item seal lot A"}},
		"a row put in":             {`INSERT INTO circlip.movement SELECT workshop, item, lot, 99, from_place, to_place, ref, qty, happened_on, act, NULL, now(), hash FROM circlip.movement` + at + ` AND seq = 1`, []string{numbers + ": item seal lot A movement 99", proof}},
		"another act":              {`UPDATE circlip.movement SET act = (SELECT act FROM circlip.movement` + at + ` AND seq = 1)` + at + ` AND seq = 2`, []string{proof + ": item seal lot A movement 1"}},
		"an act gone":              {`DELETE FROM circlip.act WHERE kind = 'waste'`, []string{"every movement belongs to an act: item oil lot drum movement 2"}},
		"what is on hand":          {`UPDATE circlip.balance SET on_hand = on_hand + 1` + at, []string{onHand + ": item seal lot A"}},
		"what is reserved":         {`UPDATE circlip.balance SET reserved = reserved - 1` + at, []string{"what is reserved is the sum of what is set aside: item seal lot A"}},
		"the head":                 {`UPDATE circlip.balance SET head = sha256('')` + at, []string{head + ": item seal lot A"}},
		"a balance gone":           {`DELETE FROM circlip.balance` + at, []string{"every movement's lot has a balance: item seal lot A"}},
		"a set-aside":              {`UPDATE circlip.set_aside SET qty = qty + 1 WHERE item = 'seal' AND job = 'L'`, []string{"what is reserved is the sum of what is set aside: item seal"}},
		"a set-aside gone":         {`DELETE FROM circlip.set_aside WHERE item = 'seal' AND job = 'L'`, []string{"set-asides of a lot are numbered without a gap: item seal"}},
		"another job's":            {`UPDATE circlip.set_aside SET job = 'X' WHERE item = 'seal' AND job = 'J' AND qty > 0`, []string{"no job has less than nothing set aside: item seal"}},
		"a reversal":               {`UPDATE circlip.movement SET reverses = 1 WHERE reverses = 2`, []string{"a reversal is the mirror of one movement: item oil lot drum movement 3"}},
		"a seal":                   {`UPDATE circlip.seal SET hash = sha256('') WHERE day = '2026-03-04'`, []string{sealRule + ": found"}},
		"a seal gone":              {`DELETE FROM circlip.seal WHERE day = '2026-03-04'`, []string{sealRule + ": found"}},
		"the last seal gone":       {`DELETE FROM circlip.seal WHERE day = '2026-03-05'`, []string{sealRule + ": item"}},
		"a sealed hash":            {`UPDATE circlip.seal_head SET head = sha256('') WHERE day = '2026-03-04' AND item = 'oil'`, []string{sealed + ": item oil lot drum movement 2", sealRule + ": found"}},
		"a lot's expiry":           {`UPDATE circlip.lot SET expires_on = '2027-01-01'` + at, []string{"every movement's lot has a balance: item seal lot A"}},
		"an order gone":            {`DELETE FROM circlip.order_line`, []string{sheet + ": found sheet sheet PO-7 without order PO-7"}},
		"an order of another code": {`UPDATE circlip.order_sheet SET order_code = 'PO-9'`, []string{sheet + ": found sheet sheet PO-7 without order PO-9"}},
		"a sheet of another act":   {`UPDATE circlip.order_sheet SET act = (SELECT act FROM circlip.act WHERE kind = 'waste')`, []string{sheet + ": found sheet"}},
		"packs that came":          {`UPDATE circlip.order_line SET received_packs = 0 WHERE item = 'wiper'`, []string{received + ": found 0 packs of item wiper received of order PO-7"}},
		"more packs delivered":     {`UPDATE circlip.delivery SET packs = packs + 1`, []string{received + ": found 1 packs"}},
		"packs of nothing":         {`UPDATE circlip.delivery SET seq = 9`, []string{brought + ": item wiper lot PO-7 movement 9", brought + ": item wiper lot PO-7 movement 1"}},
		"a delivery gone":          {`DELETE FROM circlip.delivery`, []string{brought + ": item wiper lot PO-7 movement 1: found a movement of order PO-7"}},
		"a delivery's order":       {`UPDATE circlip.delivery SET order_code = 'PO-9'`, []string{brought + ": item wiper lot PO-7 movement 1"}},
		"more out of a container":  {`UPDATE circlip.movement SET qty = qty + 1` + opened, []string{goesOn + ": item wiper lot PO-7 movement 2: found a difference of 1"}},
		"a container from nowhere": {`DELETE FROM circlip.movement WHERE ref = 'opened' AND to_place = 'lot'`, []string{goesOn + ": item wiper lot PO-7 opened 2026-03-06 movement 1"}},
		"parts of no kit":          {`DELETE FROM circlip.movement WHERE to_place = 'kit'`, []string{kits + ": item seal lot K movement 1: found parts without kits"}},
		"a kit without parts":      {`DELETE FROM circlip.movement WHERE from_place = 'kit'`, []string{kits + ": item kit lot K movement 2: found kits without parts"}},
		"parts from elsewhere":     {`UPDATE circlip.movement SET from_place = 'supplier'` + parts, []string{link + ": item wiper lot K movement 1"}},
		"an inspection gone":       {`DELETE FROM circlip.inspection`, []string{inspected + ": item kit lot K inspected movement 1: found no inspection"}},
		"an inspection's day":      {`UPDATE circlip.inspection SET inspected_on = inspected_on - 1`, []string{inspected + ": item kit lot K inspected"}},
		"an inspection's promise":  {`UPDATE circlip.inspection SET until = until + 100`, []string{inspected + ": item kit lot K inspected"}},
		"an inspection's old lot":  {`UPDATE circlip.inspection SET lot = 'X'`, []string{inspected + ": item kit lot K inspected: found an inspection of lot X without its movements"}},
		"an inspected lot made up": {`UPDATE circlip.movement SET qty = qty + 1 WHERE ref = 'inspected' AND from_place = 'lot'`, []string{goesOn + ": item kit lot K movement 3: found a difference of 1"}},
		"a job open again":         {`UPDATE circlip.job SET state = 'booked', done_on = NULL WHERE job = 'M'`, []string{closed + ": found job M booked, expected done on 2026-03-06"}},
		"another day of closing":   {`UPDATE circlip.job SET done_on = done_on + 1 WHERE job = 'M'`, []string{closed + ": found job M done on 2026-03-07"}},
		"a use written up":         {`UPDATE circlip.job_use SET qty = qty + 1 WHERE job = 'M'`, []string{used + ": item oil lot can"}},
		"a use gone":               {`DELETE FROM circlip.job_use WHERE job = 'M'`, []string{used + ": item oil lot can"}},
		"a use made up":            {`INSERT INTO circlip.job_use SELECT workshop, 'M', 'seal', 'A', 1 FROM circlip.job WHERE job = 'M' AND state = 'done'`, []string{used + ": item seal lot A: found 1 used by job M, expected 0 as taken"}},
		"a job called off quietly": {`UPDATE circlip.job SET state = 'cancelled' WHERE job = 'A'`, []string{open + ": item oil lot can: found 5 for job A, which is cancelled"}},
		"a job's own return":       {`UPDATE circlip.movement SET from_place = 'job', to_place = 'shelf' WHERE ref = 'M'`, []string{"no job gives back more than it took: item oil lot can"}},
		"half of a take-over":      {`UPDATE circlip.set_aside SET why = 'set aside' WHERE why = 'taken over' AND qty > 0`, []string{"what a job took over another gave: item oil lot can: found a difference of -5"}},
		"a reason gone":            {`DELETE FROM circlip.job_act WHERE what = 'taken over'`, []string{said}},
		"a container filled up":    {`UPDATE circlip.count_part SET qty = qty + 1 WHERE number = 1`, []string{contained + ": found 644 in those of the count of item oil on 2026-03-06, expected 643"}},
		"a container gone":         {`DELETE FROM circlip.count_part WHERE number = 1`, []string{contained + ": found 600 in those", numbered + ": found 1 containers of item oil on 2026-03-06 numbered to 2"}},
		"another count":            {`UPDATE circlip.item_count SET qty = 9`, []string{contained + ": found 643 in those of the count of item oil on 2026-03-06, expected 9"}},
		"a count by nobody":        {`UPDATE circlip.item_count SET act = gen_random_uuid()`, []string{"a count by an act has its act: found a count of item oil on 2026-03-06"}},
		"a count of another act":   {`UPDATE circlip.item_count SET act = (SELECT act FROM circlip.act WHERE kind = 'waste')`, []string{"a count by an act has its act: found a count of item oil"}},
		"a disposal gone":          {`DELETE FROM circlip.disposal WHERE number = 2`, []string{disposed + ": found act"}},
		"the first of two gone":    {`DELETE FROM circlip.disposal WHERE number = 1`, []string{disposed + ": found act", numbered + ": found 1 disposals of 2026-03-06 numbered to 2"}},
		"a disposal of no act":     {`UPDATE circlip.disposal SET act = gen_random_uuid() WHERE number = 2`, []string{disposed + ": found act", disposed + ": found disposal 2 of 2026-03-06 alone"}},
		"a disposal's number":      {`UPDATE circlip.disposal SET number = 7 WHERE number = 2`, []string{disposed + ": found disposal 7 of 2026-03-06 alone"}},
		"a reason of another act":  {`UPDATE circlip.job_act SET act = (SELECT act FROM circlip.act WHERE kind = 'waste') WHERE what = 'closed'`, []string{said}},
	} {
		t.Run(name, func(t *testing.T) {
			s.putBack(t)
			s.mustBeSound(t)
			if s.tampering(t, c.sql) == 0 {
				t.Fatal("found nothing to tamper with")
			}
			findings, err := s.Check(t.Context(), s.workshop)
			if err != nil {
				t.Fatal(err)
			}
			for _, want := range c.want {
				if !slices.ContainsFunc(findings, func(f db.Finding) bool { return strings.HasPrefix(f.String(), want) }) {
					t.Errorf("expected a finding %q among %v", want, findings)
				}
			}
		})
	}
}

// A tail cut with its act, and a balance made to fit, is a whole ledger; only
// the seal has seen it.
func TestTheSealShowsACutTail(t *testing.T) {
	s := busy(t)
	const tail = ` item = 'seal' AND lot = 'A' AND `
	s.tampering(t,
		`DELETE FROM circlip.act WHERE act IN (SELECT act FROM circlip.movement WHERE`+tail+`seq > 2)`,
		`DELETE FROM circlip.movement WHERE`+tail+`seq > 2`,
		`DELETE FROM circlip.set_aside WHERE`+tail+`job = 'L'`,
		`UPDATE circlip.balance AS b SET seq = m.seq, head = m.hash,
			on_hand = (SELECT sum(CASE WHEN to_place = 'shelf' THEN qty ELSE -qty END) FROM circlip.movement AS o WHERE o.item = b.item AND o.lot = b.lot),
			reserved = (SELECT coalesce(sum(qty), 0) FROM circlip.set_aside AS k WHERE k.item = b.item AND k.lot = b.lot),
			kept_seq = (SELECT count(*) FROM circlip.set_aside AS k WHERE k.item = b.item AND k.lot = b.lot)
		FROM circlip.movement AS m WHERE m.item = b.item AND m.lot = b.lot AND m.seq = 2 AND b.item = 'seal' AND b.lot = 'A'`)
	findings, err := s.Check(t.Context(), s.workshop)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		if f.Rule != "a sealed movement stays as it was" {
			t.Errorf("found %s, expected the seal alone to notice", f)
		}
	}
	if len(findings) == 0 {
		t.Error("found nothing, expected the seal to show that the tail is gone")
	}
}

func TestAMissingGuardIsNamed(t *testing.T) {
	for name, sql := range map[string]string{
		"a trigger asleep":            `ALTER TABLE circlip.movement DISABLE TRIGGER refuse_change`,
		"a trigger that sleeps apart": `ALTER TABLE circlip.movement ENABLE TRIGGER post_movement`,
		"a trigger gone":              `DROP TRIGGER refuse_truncate ON circlip.seal`,
		"a limit gone":                `ALTER TABLE circlip.balance DROP CONSTRAINT balance_on_hand`,
		"a limit not proven": `ALTER TABLE circlip.balance DROP CONSTRAINT balance_reserved;
			ALTER TABLE circlip.balance ADD CONSTRAINT balance_reserved CHECK (reserved >= 0) NOT VALID`,
	} {
		t.Run(name, func(t *testing.T) {
			s := openShop(t)
			if _, err := s.admin.Exec(t.Context(), sql, pgx.QueryExecModeSimpleProtocol); err != nil {
				t.Fatal(err)
			}
			findings, err := s.Check(t.Context(), s.workshop)
			if err != nil || len(findings) != 1 || findings[0].Rule != "the ledger's guards are on" {
				t.Errorf("found %v, %v, expected one guard to be missing", findings, err)
			}
		})
	}
}

// The list that Check goes by is what the migrations made.
func TestTheListOfGuardsIsWhole(t *testing.T) {
	s := openShop(t)
	triggers := collect(t, s.admin, pgx.RowTo[string], `SELECT c.relname || '.' || t.tgname FROM pg_trigger AS t JOIN pg_class AS c ON c.oid = t.tgrelid
		WHERE t.tgenabled = 'A' ORDER BY 1`)
	var want []string
	for _, g := range db.Guards {
		want = append(want, g.Table+"."+g.Trigger)
	}
	slices.Sort(want)
	if diff := cmp.Diff(triggers, want); diff != "" {
		t.Errorf("triggers (-database +list):\n%s", diff)
	}
	limits := collect(t, s.admin, pgx.RowTo[string], `SELECT conname FROM pg_constraint AS n JOIN pg_class AS c ON c.oid = n.conrelid
		WHERE n.contype = 'c' AND c.relname = ANY ($1) ORDER BY 1`, slices.Collect(maps.Keys(ledgerTables)))
	if diff := cmp.Diff(limits, db.Limits); diff != "" {
		t.Errorf("limits (-database +list):\n%s", diff)
	}
}

// edits are ways to tamper with one row of a movement table, by its place in
// the row order.
var edits = []func(r *rand.Rand, row int) string{
	func(r *rand.Rand, row int) string {
		return fmt.Sprintf(`UPDATE circlip.movement SET qty = qty + %d WHERE ctid = %s`, 1+r.IntN(5), nth(row))
	},
	func(_ *rand.Rand, row int) string {
		return `UPDATE circlip.movement SET happened_on = happened_on + 1 WHERE ctid = ` + nth(row)
	},
	func(_ *rand.Rand, row int) string {
		return `UPDATE circlip.movement SET ref = ref || '.' WHERE ctid = ` + nth(row)
	},
	func(_ *rand.Rand, row int) string { return `DELETE FROM circlip.movement WHERE ctid = ` + nth(row) },
	func(_ *rand.Rand, row int) string {
		return `INSERT INTO circlip.movement SELECT workshop, item, lot, 1000, from_place, to_place, ref, qty, happened_on, act, NULL, now(), hash
			FROM circlip.movement WHERE ctid = ` + nth(row)
	},
	func(_ *rand.Rand, row int) string { // the tail of a lot from there on
		return `DELETE FROM circlip.movement AS m USING circlip.movement AS f
			WHERE f.ctid = ` + nth(row) + ` AND m.item = f.item AND m.lot = f.lot AND m.seq >= f.seq`
	},
	func(_ *rand.Rand, row int) string { // two rows of a lot change places
		return `UPDATE circlip.movement AS m SET qty = o.qty + 1, ref = o.ref FROM circlip.movement AS o
			WHERE m.ctid = ` + nthOfSeveral(row) + ` AND o.item = m.item AND o.lot = m.lot AND o.seq = CASE WHEN m.seq = 1 THEN 2 ELSE m.seq - 1 END`
	},
	func(r *rand.Rand, row int) string { // and one that mends its own hash
		return fmt.Sprintf(`UPDATE circlip.movement AS m SET qty = qty + %d, hash = sha256(coalesce((SELECT p.hash FROM circlip.movement AS p
				WHERE p.item = m.item AND p.lot = m.lot AND p.seq = m.seq - 1), decode(repeat('00', 32), 'hex'))
				|| circlip.movement_bytes(workshop, item, lot, from_place, to_place, ref, seq, qty + 1, happened_on))
			WHERE ctid = %s`, 1, nth(row))
	},
}

func nth(row int) string {
	return fmt.Sprintf(`(SELECT ctid FROM circlip.movement ORDER BY item, lot, seq OFFSET %d LIMIT 1)`, row)
}

// nthOfSeveral is a row of a lot that has more than one.
func nthOfSeveral(row int) string {
	const several = `FROM circlip.movement WHERE (item, lot) IN (SELECT item, lot FROM circlip.movement WHERE seq = 2)`
	return fmt.Sprintf(`(SELECT ctid %s ORDER BY item, lot, seq OFFSET %d %% (SELECT count(*) %[1]s) LIMIT 1)`, several, row)
}

// Random edits of a ledger, one at a time, each undone again: every one is
// found.
func TestEveryRandomEditIsFound(t *testing.T) {
	s := busy(t)
	rows := collect(t, s.admin, rowToInt, `SELECT count(*) FROM circlip.movement`)[0]
	s.keepCopies(t)
	r := rand.New(rand.NewPCG(7, 11))
	found := 0
	const tries = 80
	for n := range tries {
		sql := edits[n%len(edits)](r, r.IntN(int(rows)))
		if s.tampering(t, sql) == 0 {
			t.Fatalf("%s changed nothing", sql)
		}
		findings, err := s.Check(t.Context(), s.workshop)
		if err != nil {
			t.Fatal(err)
		}
		if len(findings) > 0 {
			found++
		} else {
			t.Errorf("not found: %s", sql)
		}
		s.putBack(t)
	}
	t.Logf("%d of %d random edits found", found, tries)
	s.mustBeSound(t)
}

func TestThousandsOfFaultsAreNotListed(t *testing.T) {
	s := busy(t)
	s.tampering(t, `INSERT INTO circlip.movement SELECT workshop, item, lot, n, from_place, to_place, ref, qty, happened_on, act, NULL, now(), hash
		FROM circlip.movement, generate_series(100, 1300) AS n WHERE item = 'oil' AND seq = 1`)
	findings, err := s.Check(t.Context(), s.workshop)
	if err != nil || len(findings) != 1001 {
		t.Errorf("found %d findings, %v, expected a thousand and a note", len(findings), err)
	}
}

func TestSeals(t *testing.T) {
	s := busy(t)
	first := s.seal(t, 6)
	if again := s.seal(t, 6); again != first {
		t.Error("a day sealed twice has two seals")
	}
	if earlier := s.seal(t, 2); earlier != first {
		t.Error("a day before the last seal got a new one, expected the last")
	}
	if quiet := s.seal(t, 7); quiet == first {
		t.Error("a day on which nothing moved has the seal of the day before, expected one of its own")
	}
	listed := collect(t, s.admin, rowToInt, `SELECT count(*) FROM circlip.seal_head WHERE day = '2026-03-06'`)
	if listed[0] != 8 {
		t.Errorf("found %d lots in the seal, expected the drum, the can, the kits under two names, two parts and the wipers under two names", listed[0])
	}
	s.mustBeSound(t)
	if _, err := s.Seal(t.Context(), s.workshop, 0); err == nil {
		t.Error("found no error for a seal of no day")
	}
}
