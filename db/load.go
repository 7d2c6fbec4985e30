package db

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
	"circlip/inventory/book"
)

//go:embed load/*.sql load/check/*.sql load/merge/*.sql
var loadFiles embed.FS

// loadSQL is a file of the folder load.
func loadSQL(name string) string {
	text, err := loadFiles.ReadFile("load/" + name + ".sql")
	if err != nil {
		panic("db: " + err.Error()) // a file that was not embedded
	}
	return string(text)
}

// LoadReport is what a load did.
type LoadReport struct {
	Workshop  Workshop
	Created   bool // the workshop is new
	Tables    []TableLoad
	Lots      int // new in the ledger
	Movements int // likewise
	Warnings  []string
}

// TableLoad counts the rows of one table of the book. Missing rows are those
// that the workshop has and the book has not: they stay.
type TableLoad struct {
	Table                             string
	Rows, New, Changed, Same, Missing int
}

// Faults is a book that was refused: everything that is wrong with it, by
// table and row. It wraps inventory.ErrInvalid.
type Faults []book.Fault

const shownFaults = 20

// Error lists the first faults, one a line.
func (f Faults) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "the book has %d faults, nothing was loaded", len(f))
	for i, fault := range f {
		if i == shownFaults {
			fmt.Fprintf(&b, "\nand %d more", len(f)-i)
			break
		}
		b.WriteString("\n" + fault.Error())
	}
	return b.String()
}

// Unwrap makes errors.Is(faults, inventory.ErrInvalid) true.
func (f Faults) Unwrap() error { return inventory.ErrInvalid }

// Load takes a whole book into its workshop, or nothing of it. The workshop is
// the one that the book's settings name, made where it is new, or else the one
// called into; an empty into stands for the only one there is. Loading the same
// book again changes nothing. What the book tells of the shelf goes into the
// ledger, once.
//
// A book with faults gives an error of type Faults. Two loads of one workshop
// take turns.
func (s *Store) Load(ctx context.Context, source book.Source, into string) (LoadReport, error) {
	l := &loading{source: source, into: into}
	err := s.inBulk(ctx, func(tx pgx.Tx) error {
		l.tx = tx
		return l.run(ctx)
	})
	if err != nil {
		return LoadReport{Warnings: l.report.Warnings}, err
	}
	// The load is done whatever becomes of this: statistics make the next
	// queries fast, and the server gathers them by itself later on.
	if l.report.written() >= worthAnalysing {
		_, _ = s.pool.Exec(ctx, roughStatisticsSQL)
	}
	return l.report, nil
}

// A tenth of the usual sample tells large tables from small ones, which is all
// that is needed, in a tenth of the time.
const roughStatisticsSQL = `SELECT set_config('default_statistics_target', '10', true), refresh_statistics()`

// worthAnalysing is how many rows change a plan.
const worthAnalysing = 500

// written counts the rows that are new or changed.
func (r LoadReport) written() (rows int) {
	for _, t := range r.Tables {
		rows += t.New + t.Changed
	}
	return rows + r.Movements
}

// loading is one load on its way through one transaction:
//
//  1. Rows that are good by themselves are copied into temporary tables as they
//     are read (load/stage.sql), so that a book of any size takes no more
//     memory than a small one.
//  2. What is wrong between rows, and between them and what the workshop has,
//     is found by one query a table (load/check); with any fault the
//     transaction ends here. A count in parts is their sum, a part on the scale
//     has the tare of its container, a line of the bill that gave way to another
//     ends there (load/known.sql).
//  3. What the book tells of the shelf that was not told before is noted
//     (load/told.sql), and the workshop's tables are brought to what is staged
//     (load/merge). A row that is noted is one that was not in these tables:
//     they and the ledger change in the same transaction, here and in every act,
//     so that a row in them is a row in the ledger. Moves are noted that the
//     ledger does not have (load/known.sql); what they tell is not told again.
//     Sheets that orders were placed by are spent from then on (load/sheets.sql).
//  4. Some items at a time, their history is replayed into movements, around the
//     moves as they are, and the ledger records both with its own checks. Before
//     that, what was set aside for jobs that the book ends or puts off is free.
//
// Acts change jobs too. A book that says of a job's state and bench date what it
// said before has no news of what acts did since; a job that acts closed or
// corrected stays as they left it.
type loading struct {
	tx       pgx.Tx
	source   book.Source
	into     string
	workshop int64
	settings map[string]string
	context  book.Context
	fluids   map[string]fluid
	tares    map[string]float64 // by container
	faults   Faults
	spoiled  [][]any
	named    []reference // in spoiled rows
	report   LoadReport

	moved      bool  // the book has the table moves
	ordinal    int64 // of the last movement staged
	shortfalls int
	undated    int // lots whose life is counted from the day they were first seen
}

// bulkSQL: a load may wait for another, sorts and hashes much at once, and its
// long checks run once each, so that compiling them takes more than it gives.
const bulkSQL = `SET LOCAL lock_timeout = 0; SET LOCAL work_mem = '64MB'; SET LOCAL jit = off;`

// run does the whole load; settings come first, since they say where it goes.
func (l *loading) run(ctx context.Context) error {
	if err := script(ctx, l.tx, bulkSQL+loadSQL("stage")); err != nil {
		return err
	}
	tables, warnings := book.Match(l.source.Tables())
	l.report.Warnings = warnings
	if len(tables) > 0 && tables[0].Name == "settings" {
		if err := l.stage(ctx, tables[0]); err != nil {
			return err
		}
		tables = tables[1:]
	}
	if err := l.enter(ctx); err != nil {
		return err
	}
	for _, t := range tables {
		l.moved = l.moved || t.Name == ofTheLedger
		if err := l.stage(ctx, t); err != nil {
			return err
		}
	}
	if err := l.check(ctx); err != nil {
		return err
	}
	if len(l.faults) > 0 {
		return l.faults
	}
	if err := l.warnOfDensities(ctx); err != nil {
		return err
	}
	if err := l.merge(ctx); err != nil {
		return err
	}
	if _, err := l.tx.Exec(ctx, loadSQL("sheets"), l.args()); err != nil {
		return err
	}
	return l.tell(ctx)
}

const (
	addWorkshopSQL  = `INSERT INTO workshop (name) VALUES (@name) ON CONFLICT (name) DO NOTHING`
	findWorkshopSQL = `SELECT workshop AS id, name FROM workshop WHERE name = @name`
	// The lock is the one that guards the bill of materials.
	lockBookSQL = `
SELECT pg_advisory_xact_lock(hashtextextended('circlip book ' || @workshop::bigint, 0)),
	set_config('circlip.workshop', @workshop::bigint::text, true)`
)

// enter finds or makes the workshop, waits until no other load is in it, and
// learns what rows need to know of it. Where the book is at fault about it, the
// other tables are read all the same, as if into an empty one: all faults are
// told at once.
func (l *loading) enter(ctx context.Context) error {
	if err := l.nameWorkshop(ctx); err != nil {
		return err
	}
	if len(l.faults) == 0 {
		if err := l.findWorkshop(ctx); err != nil {
			return err
		}
	}
	if _, err := l.tx.Exec(ctx, lockBookSQL, l.args()); err != nil {
		return err
	}
	return l.learn(ctx)
}

// findWorkshop makes the workshop where it is new. Another load may make it at
// the same moment: the insert waits for that one, and then finds it.
func (l *loading) findWorkshop(ctx context.Context) error {
	name := pgx.NamedArgs{"name": l.report.Workshop.Name}
	made, err := l.tx.Exec(ctx, addWorkshopSQL, name)
	if err != nil {
		return err
	}
	rows, err := l.tx.Query(ctx, findWorkshopSQL, name)
	if err != nil {
		return err
	}
	l.report.Workshop, err = pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[Workshop])
	l.workshop, l.report.Created = l.report.Workshop.ID, made.RowsAffected() == 1
	return err
}

// args name the workshop in the statements of a load.
func (l *loading) args() pgx.NamedArgs { return pgx.NamedArgs{"workshop": l.workshop} }

// nameWorkshop decides which workshop the book is of.
func (l *loading) nameWorkshop(ctx context.Context) error {
	if len(l.faults) > 0 {
		return nil
	}
	if named := l.settings["workshop"]; named != "" {
		if l.into != "" && l.into != named {
			l.settingFault("value", "workshop: the book is of another workshop", named, l.into)
		}
		l.report.Workshop.Name = named
		return nil
	}
	all, err := workshops(ctx, l.tx)
	if err != nil {
		return err
	}
	chosen, err := choose(all, l.into)
	if errors.Is(err, inventory.ErrNotFound) && l.into == "" {
		l.settingFault("workshop", "missing", "", "the name of the workshop, since there is none yet")
		return nil
	}
	l.report.Workshop.Name = chosen.Name
	return err
}

// What rows are read with must come from the whole workshop: a book may hold
// one table only.
const (
	keptSettingsSQL = `SELECT key, value FROM setting WHERE workshop = @workshop`
	keptMeasuresSQL = `SELECT item, measure FROM item WHERE workshop = @workshop`
)

// learn reads the settings and the items' measures that the workshop has.
func (l *loading) learn(ctx context.Context) error {
	settings, err := pairs(ctx, l.tx, keptSettingsSQL, l.args())
	if err != nil {
		return err
	}
	kept := settings["currency"]
	for key, value := range l.settings {
		settings[key] = value
	}
	if kept != "" && settings["currency"] != kept {
		l.settingFault("value", "currency: the workshop's amounts are already in another", settings["currency"], kept)
	}
	parsed, faults := book.SettingsOf(settings)
	if len(l.faults) == 0 {
		for _, f := range faults {
			l.fault(f)
		}
	}
	measures, err := pairs(ctx, l.tx, keptMeasuresSQL, l.args())
	l.context = book.Context{Currency: parsed.Currency, Measure: func(item string) (inventory.Measure, bool) {
		measure, known := measures[item]
		return inventory.Measure(measure), known
	}}
	return err
}

// pairs reads two columns of text into a map.
func pairs(ctx context.Context, q querier, sql string, args pgx.NamedArgs) (map[string]string, error) {
	rows, err := q.Query(ctx, sql, args)
	if err != nil {
		return nil, err
	}
	found := map[string]string{}
	var key, value string
	_, err = pgx.ForEachRow(rows, []any{&key, &value}, func() error {
		found[key] = value
		return nil
	})
	return found, err
}

// settingFault is a fault of the settings that no single row is to blame for.
func (l *loading) settingFault(column, problem, found, expected string) {
	l.fault(book.Fault{Table: "settings", Column: column, Problem: problem, Found: found, Expected: expected})
}

func (l *loading) fault(f book.Fault) { l.faults = append(l.faults, f) }
