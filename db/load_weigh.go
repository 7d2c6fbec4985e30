package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
	"circlip/inventory/book"
)

// weighCount adds what was found of the item: the quantity counted, what the
// weights come to, or nothing yet where it is the sum of its parts.
func (l *loading) weighCount(r book.Record) (book.Record, bool) {
	counted, gross, tare, temp := r.Values[2], r.Values[3], r.Values[4], r.Values[5]
	if counted != nil || gross == nil {
		r.Values = append(r.Values, counted)
		return r, true
	}
	found, good := l.weigh("counts", r, gross, tare, temp)
	r.Values = append(r.Values, found)
	return r, good
}

// weighPart adds the tare, its own or that of its container, and what was found
// in it. A container that nobody knows, or that weighs more than it does with
// what is in it, comes to nothing; the checks tell of both, but for parts that
// are recorded: these keep the tare that they were reckoned with.
func (l *loading) weighPart(r book.Record) (book.Record, bool) {
	measured, gross, tare, temp := r.Values[4], r.Values[5], r.Values[6], r.Values[7]
	if measured != nil {
		r.Values = append(r.Values, nil, measured)
		return r, true
	}
	if tare == nil {
		container, _ := r.Values[3].(string)
		if known, is := l.tares[container]; is {
			tare = known
		}
	}
	full, _ := gross.(float64)
	if empty, known := tare.(float64); !known || empty > full {
		r.Values = append(r.Values, tare, nil)
		return r, true
	}
	found, good := l.weigh("count_parts", r, gross, tare, temp)
	r.Values = append(r.Values, tare, found)
	return r, good
}

// weigh is what weights of a row's item come to, in its measure.
func (l *loading) weigh(table string, r book.Record, gross, tare, temp any) (found inventory.Quantity, good bool) {
	code, _ := r.Values[0].(string)
	item, known := l.fluids[code]
	if !known {
		return 0, true // an unknown code, found by the checks
	}
	w := inventory.Weighing{}
	w.GrossG, _ = gross.(float64)
	w.TareG, _ = tare.(float64)
	if c, given := temp.(float64); given {
		w.TempC = &c
	}
	found, err := w.Quantity(item.measure, item.density)
	if err != nil {
		l.fault(weighingFault(table, r.Row, code, item, err))
		return 0, false
	}
	return found, true
}

// weighingFault says what the item lacks to be weighed, or what is wrong with
// what its weights come to.
func weighingFault(table string, row int, item string, of fluid, err error) book.Fault {
	f := book.Fault{Table: table, Row: row, Column: "gross_g", Found: item}
	switch {
	case of.measure == inventory.Each:
		f.Problem, f.Expected = "an item kept in ea was weighed", "a number of pieces in qty"
	case of.measure == inventory.Millilitre && of.density == 0:
		f.Problem, f.Expected = "an item kept in ml was weighed, but has no density", "density_kg_m3 of the item, or a quantity in qty"
	default:
		f.Problem, f.Expected = err.Error(), "weights that can be"
	}
	return f
}

// fluid is what weighing needs to know of an item.
type fluid struct {
	measure inventory.Measure
	density float64 // kg/m³ at 15 °C; 0: not stated
}

const (
	fluidsSQL = `
SELECT item, unit, coalesce(density_kg_m3, 0) FROM staged_items
UNION ALL
SELECT item, measure, coalesce(density_kg_m3, 0) FROM item AS kept
WHERE workshop = @workshop AND NOT EXISTS (SELECT FROM staged_items AS s WHERE s.item = kept.item)`
	taresSQL = `
SELECT container, tare_g FROM staged_containers
UNION ALL
SELECT container, tare_g FROM container AS kept
WHERE workshop = @workshop AND NOT EXISTS (SELECT FROM staged_containers AS s WHERE s.container = kept.container)`
)

// learnScales keeps a few words an item and a number a container: with the
// items' measures, the only things of a load that grow with its book.
func (l *loading) learnScales(ctx context.Context) error {
	if l.fluids != nil {
		return nil
	}
	l.fluids, l.tares = map[string]fluid{}, map[string]float64{}
	rows, err := l.tx.Query(ctx, fluidsSQL, l.args())
	if err != nil {
		return err
	}
	var code string
	var f fluid
	_, err = pgx.ForEachRow(rows, []any{&code, &f.measure, &f.density}, func() error {
		l.fluids[code] = f
		return nil
	})
	if err != nil {
		return err
	}
	if rows, err = l.tx.Query(ctx, taresSQL, l.args()); err != nil {
		return err
	}
	var tare float64
	_, err = pgx.ForEachRow(rows, []any{&code, &tare}, func() error {
		l.tares[code] = tare
		return nil
	})
	return err
}

// A weighing in ml stands on its item's density.
const reweighedSQL = `
SELECT s.item, kept.density_kg_m3, coalesce(s.density_kg_m3::text, 'nothing'), count(*)
FROM staged_items AS s JOIN item AS kept ON kept.workshop = @workshop AND kept.item = s.item AND kept.measure = 'ml'
JOIN (SELECT item, gross_g FROM item_count WHERE workshop = @workshop
	UNION ALL SELECT item, gross_g FROM count_part WHERE workshop = @workshop) AS c ON c.item = s.item AND c.gross_g IS NOT NULL
WHERE s.density_kg_m3 IS DISTINCT FROM kept.density_kg_m3
GROUP BY s.item, kept.density_kg_m3, s.density_kg_m3 ORDER BY s.item`

// warnOfDensities tells of items whose density the book changes after they were
// weighed: what was found then stands here, and would be something else where
// the weights are loaded anew.
func (l *loading) warnOfDensities(ctx context.Context) error {
	rows, err := l.tx.Query(ctx, reweighedSQL, l.args())
	if err != nil {
		return err
	}
	var item, now string
	var was *float64
	var weighed int
	_, err = pgx.ForEachRow(rows, []any{&item, &was, &now, &weighed}, func() error {
		before := "nothing"
		if was != nil {
			before = fmt.Sprintf("%g", *was)
		}
		l.warn(fmt.Sprintf("items: %s: density_kg_m3 was %s and is %s: what was weighed before (containers: %d) stays what it came to, but a saved book that is loaded elsewhere reckons it anew: count it once more",
			item, before, now, weighed))
		return nil
	})
	return err
}
