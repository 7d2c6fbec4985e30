package db

import (
	"cmp"
	"context"
	"fmt"
	"iter"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/inventory"
	"circlip/inventory/book"
)

const (
	// toldAtOnce bounds the rows that are replayed at a time, but for one item.
	toldAtOnce = 20_000
	// shownShortfalls bounds the warnings about uses beyond the shelf.
	shownShortfalls = 100
)

const toldItemsSQL = `
SELECT item, count(*) FROM (SELECT item FROM told UNION ALL SELECT item FROM new_moves WHERE lot <> '') AS news
GROUP BY item ORDER BY item`

// tell replays what the book told of the shelf and was not known before, some
// items at a time, and has the ledger record the movements.
func (l *loading) tell(ctx context.Context) error {
	if err := l.release(ctx); err != nil {
		return err
	}
	groups, err := l.toldItems(ctx)
	if err != nil || len(groups) == 0 {
		return err
	}
	if _, err := l.tx.Exec(ctx, `SELECT stage()`); err != nil {
		return err
	}
	for _, items := range groups {
		if err := l.tellItems(ctx, items); err != nil {
			return err
		}
	}
	if l.shortfalls > shownShortfalls {
		l.warn(fmt.Sprintf("job_use: %d more uses than are shown took more than the shelf had", l.shortfalls-shownShortfalls))
	}
	if l.undated > 0 {
		l.warn(fmt.Sprintf("%d lots have neither an expiry nor a cure mark: their storage life is counted from the day they came", l.undated))
	}
	return l.record(ctx)
}

const (
	releaseToldSQL = `SELECT release_told(@workshop, ARRAY(SELECT job FROM put_off))`
	// shownReleases bounds the jobs that are named.
	shownReleases = 20
)

// release frees what is set aside for jobs that the book says have ended or are
// on another day, before what they took is told: it may be the same.
func (l *loading) release(ctx context.Context) error {
	rows, err := l.tx.Query(ctx, releaseToldSQL, l.args())
	if err != nil {
		return err
	}
	jobs, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || len(jobs) == 0 {
		return err
	}
	named := strings.Join(jobs[:min(len(jobs), shownReleases)], ", ")
	if more := len(jobs) - shownReleases; more > 0 {
		named += fmt.Sprintf(" and %d more", more)
	}
	l.warn("jobs: no longer booked for the day that parts were set aside for, which are free again: " + named)
	return nil
}

// warn adds to what the report says besides its numbers.
func (l *loading) warn(text string) { l.report.Warnings = append(l.report.Warnings, text) }

// toldItems are the items that something was told of, in groups to take at a
// time.
func (l *loading) toldItems(ctx context.Context) ([][]string, error) {
	rows, err := l.tx.Query(ctx, toldItemsSQL)
	if err != nil {
		return nil, err
	}
	var groups [][]string
	var item string
	var n, sum int
	_, err = pgx.ForEachRow(rows, []any{&item, &n}, func() error {
		if sum += n; len(groups) == 0 || sum > toldAtOnce {
			groups, sum = append(groups, nil), n
		}
		last := len(groups) - 1
		groups[last] = append(groups[last], item)
		return nil
	})
	return groups, err
}

// tellItems stages the movements of some items, and the lots that are new.
func (l *loading) tellItems(ctx context.Context, items []string) error {
	histories, err := l.histories(ctx, items)
	if err != nil {
		return err
	}
	// All items are replayed before anything is copied: a connection that
	// copies cannot be asked.
	var lots []inventory.Lot
	movements := make([][]recording, len(items))
	for i, item := range items {
		h := histories[item]
		replayed := inventory.Replay(h.History)
		movements[i] = h.record(replayed.Movements, l.act)
		for _, lot := range replayed.Lots {
			if !h.recorded[lot.Code] {
				lots = append(lots, lot)
				if h.undated[lot.Code] {
					l.undated++
				}
			}
		}
		for _, short := range replayed.Shortfalls {
			l.warnOf(h, short)
		}
	}
	n, err := l.tx.CopyFrom(ctx, pgx.Identifier{"staged_lot"}, []string{"item", "lot", "received_on", "expires_on", "unit_cost"},
		pgx.CopyFromSlice(len(lots), func(i int) ([]any, error) {
			lot := lots[i]
			return []any{lot.Item, lot.Code, sqlDate(lot.Received), expiry(lot.Expires), int64(lot.UnitCost)}, nil
		}))
	if err != nil {
		return err
	}
	l.report.Lots += int(n)
	return l.stageMovements(ctx, movements)
}

// recording is a movement as the ledger is to take it.
type recording struct {
	inventory.Movement
	act      [16]byte
	kind     string // of the act
	reverses any    // the number in its lot of the movement that it corrects, or nil
	papers
}

// record makes movements what the ledger takes, in the same order. A move keeps
// its act; others have that of their row, which key makes.
func (h *itemHistory) record(movements []inventory.Posted, key func(row string) [16]byte) []recording {
	all := make([]recording, len(movements))
	at := map[position]int64{} // of moves, by the number they have in the book
	for i, m := range movements {
		h.numbers[m.Lot]++
		all[i] = recording{Movement: m.Movement, kind: "import"}
		if m.Number == 0 {
			all[i].act = key(m.Act)
			continue
		}
		all[i].kind, all[i].act = "moves", uuid.MustParse(m.Act) // checked when it was staged
		at[position{m.Lot, m.Number}] = h.numbers[m.Lot]
		all[i].papers = h.papers[position{m.Lot, m.Number}]
		if seq := cmp.Or(at[position{m.Lot, all[i].row}], all[i].seq); seq > 0 {
			all[i].reverses = seq
		}
	}
	return all
}

// stageMovements numbers the movements in the order they are to be recorded in.
func (l *loading) stageMovements(ctx context.Context, movements [][]recording) error {
	next, stop := iter.Pull(func(yield func(recording) bool) {
		for _, m := range slices.Concat(movements...) {
			if !yield(m) {
				return
			}
		}
	})
	defer stop()
	_, err := l.tx.CopyFrom(ctx, pgx.Identifier{"staged_movement"},
		[]string{"ordinal", "item", "lot", "from_place", "to_place", "ref", "qty", "happened_on", "act", "kind", "reverses",
			"packs", "inspected_by", "note"},
		pgx.CopyFromFunc(func() ([]any, error) {
			m, more := next()
			if !more {
				return nil, nil
			}
			l.ordinal++
			return []any{l.ordinal, m.Item, m.Lot, string(m.From), string(m.To), m.Ref, int64(m.Qty), sqlDate(m.HappenedOn),
				m.act, m.kind, m.reverses, m.packs, m.inspectedBy, m.note}, nil
		}))
	return err
}

// expiry is the first day a lot is no longer good, for the ledger, where a lot
// that does not age has an infinite one.
func expiry(d inventory.Date) any {
	if d.IsZero() {
		return endless
	}
	return sqlDate(d)
}

// bookActs is the name space of the acts that come from books (UUID version 5):
// a row of one workshop's book has one key, whoever loads it and wherever.
var bookActs = uuid.NewSHA1(uuid.NameSpaceOID, []byte("circlip book row"))

// act is the key of a row's act.
func (l *loading) act(row string) [16]byte {
	return uuid.NewSHA1(bookActs, fmt.Appendf(nil, "%s\x1f%s", l.report.Workshop.Name, row))
}

// tellers are the tables of the book that events come from, by kind.
var tellers = []string{inventory.Opening: "stock", inventory.Receiving: "orders", inventory.Using: "job_use", inventory.Counting: "counts"}

// warnOf tells of a use beyond the shelf in the words of a fault, though it is
// none: papers are often incomplete, and a refused book helps nobody.
func (l *loading) warnOf(h *itemHistory, s inventory.Shortfall) {
	if l.shortfalls++; l.shortfalls > shownShortfalls {
		return
	}
	text := h.measure.Format
	f := book.Fault{Table: tellers[s.Kind], Row: s.Row, Column: "qty", Found: text(s.Used), Expected: "at most " + text(s.Had)}
	f.Problem = fmt.Sprintf("more used of %s than the shelf had on %s; %s booked as found by difference", h.Item, s.Day, text(s.Used-s.Had))
	if s.Day != s.On {
		f.Problem = fmt.Sprintf("it leaves less of %s on %s than was used then; %s booked as found by difference", h.Item, s.Day, text(s.Used-s.Had))
	}
	l.warn(f.Error())
}

// The ledger's own functions say what they would not take before they take
// anything.
const (
	importLotsSQL   = `SELECT item, lot FROM import_lots(@workshop)`
	importFaultsSQL = `
SELECT f.problem, coalesce(m.item, ''), coalesce(m.lot, ''), CASE WHEN m.kind = 'moves' THEN 'moves'
	WHEN m.from_place = 'shelf' THEN 'job_use' ELSE 'orders' END, coalesce(m.ref, ''), coalesce(f.on_hand, 0)
FROM import_faults(@workshop) AS f LEFT JOIN staged_movement AS m USING (ordinal)`
	importMovementsSQL = `SELECT import_movements(@workshop)`
)

// record has the ledger take what is staged.
func (l *loading) record(ctx context.Context) error {
	rows, err := l.tx.Query(ctx, importLotsSQL, l.args())
	if err != nil {
		return err
	}
	var item, lot string
	_, err = pgx.ForEachRow(rows, []any{&item, &lot}, func() error {
		l.fault(book.Fault{Table: "stock", Column: "lot", Problem: "lot of " + item + " already recorded with other dates or another cost", Found: lot, Expected: "another lot code"})
		return nil
	})
	if err != nil {
		return err
	}
	if rows, err = l.tx.Query(ctx, importFaultsSQL, l.args()); err != nil {
		return err
	}
	var problem, teller, ref string
	var onHand int64
	_, err = pgx.ForEachRow(rows, []any{&problem, &item, &lot, &teller, &ref, &onHand}, func() error {
		l.fault(ledgerFault(problem, item, lot, teller, ref, onHand))
		return nil
	})
	if err != nil {
		return err
	}
	if len(l.faults) > 0 {
		return l.faults
	}
	return l.tx.QueryRow(ctx, importMovementsSQL, l.args()).Scan(&l.report.Movements)
}

// ledgerFault is why the ledger does not take a movement, said of the table
// that told it. The commonest: what is set aside for a job is not there to use.
func ledgerFault(problem, item, lot, teller, ref string, onHand int64) book.Fault {
	f := book.Fault{Table: teller, Found: ref, Problem: "the ledger does not take lot " + lot + " of " + item + ": " + problem}
	if onHand < 0 {
		f.Expected = fmt.Sprintf("%d fewer steps, so that what is set aside is kept", -onHand)
	}
	return f
}
