package db

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
	"circlip/inventory/book"
)

// Shop reads everything that planning a workshop needs, as it stood at the end
// of a day. What came later is not there: readings, jobs booked, orders placed,
// counts, movements. A job done later is still booked, an order received later
// still outstanding, a job called off later still booked. Where the book has no
// day, a job without booked_on counts as known from the day it ended or should
// have, unless it is open; a job without cancelled_on as cancelled at all times,
// or as missed from its bench date on. Prices, bills of materials, containers and
// settings are those of now, and so are the days on which units are retired.
//
// It wraps inventory.ErrNotFound where there is no such workshop.
func (s *Store) Shop(ctx context.Context, workshop int64, asOf inventory.Date) (inventory.Shop, error) {
	r := reading{ctx: ctx, workshop: workshop, asOf: asOf}
	err := s.InSnapshot(ctx, func(tx pgx.Tx) error {
		r.tx = tx
		return r.run()
	})
	return r.shop, err
}

// reading is one shop on its way out of a snapshot.
type reading struct {
	ctx      context.Context
	tx       pgx.Tx
	workshop int64
	asOf     inventory.Date
	shop     inventory.Shop
	modelOf  map[string]string // by unit, also of those that are retired
}

// run reads part by part; readings go to units and set-asides to lots, so that
// these come first.
func (r *reading) run() error {
	r.shop = inventory.Shop{AsOf: r.asOf, Season: map[int]float64{}}
	if _, err := r.tx.Exec(r.ctx, `SET LOCAL jit = off`); err != nil { // compiling takes longer than reading
		return err
	}
	for _, part := range []func() error{
		r.settings, r.suppliers, r.items, r.offers, r.kits, r.alternates, r.holidays, r.grooves, r.containers, r.models,
		r.services, r.bom, r.units, r.readings, r.season, r.jobs, r.setups, r.uses, r.lots, r.setAside, r.orders, r.counts,
		r.countParts, r.openings, r.onRecord, r.disposals,
	} {
		if err := part(); err != nil {
			return fmt.Errorf("read workshop %d: %w", r.workshop, err)
		}
	}
	return nil
}

// each reads rows into variables and has take look at them after every row; a
// pointer among them points at something new in each.
// Days count from 1970-01-01 in all the queries below; 0 stands for none.
func (r *reading) each(sql string, into []any, take func() error) error {
	rows, err := r.tx.Query(r.ctx, sql, pgx.NamedArgs{"workshop": r.workshop, "as_of": sqlDate(r.asOf)})
	if err != nil {
		return err
	}
	_, err = pgx.ForEachRow(rows, into, take)
	return err
}

// settings that the book does not name have their defaults.
func (r *reading) settings() error {
	settings, err := pairs(r.ctx, r.tx, keptSettingsSQL, pgx.NamedArgs{"workshop": r.workshop})
	if err != nil {
		return err
	}
	if len(settings) == 0 {
		return inventory.ErrNotFound
	}
	var faults []book.Fault
	r.shop.Settings, faults = book.SettingsOf(settings)
	if len(faults) > 0 {
		return faults[0]
	}
	return nil
}

// weekdays are the book's names of the days of the week.
var weekdays = map[string]time.Weekday{
	"mon": time.Monday, "tue": time.Tuesday, "wed": time.Wednesday, "thu": time.Thursday, "fri": time.Friday,
	"sat": time.Saturday, "sun": time.Sunday,
}

const shopSuppliersSQL = `
SELECT supplier, name, coalesce(order_weekday, ''), coalesce(cutoff, ''), coalesce(lead_days, 0), coalesce(min_order, 0),
	coalesce(carriage, 0), coalesce(carriage_free_from, 0), carriage_free_from IS NOT NULL
FROM supplier WHERE workshop = @workshop ORDER BY supplier`

// suppliers without a day of their own deliver in the workshop's rhythm.
func (r *reading) suppliers() error {
	var s inventory.Supplier
	var weekday string
	return r.each(shopSuppliersSQL, []any{&s.Code, &s.Name, &weekday, &s.Cutoff, &s.LeadDays, &s.MinOrder, &s.Carriage,
		&s.CarriageFreeFrom, &s.HasFreeCarriage}, func() error {
		var named bool
		if s.OrderWeekday, named = weekdays[weekday]; !named {
			s.OrderWeekday = r.shop.Settings.OrderWeekday
		}
		r.shop.Suppliers = append(r.shop.Suppliers, s)
		return nil
	})
}

const shopItemsSQL = `
SELECT item, name, kind, measure, coalesce(material, ''), coalesce(shelf_months, 0), critical, coalesce(inside_mm, 0),
	coalesce(section_mm, 0), coalesce(hardness, 0), coalesce(density_kg_m3, 0), coalesce(viscosity_40c, 0), flash_point_c,
	coalesce(bin, ''), coalesce(gtin, ''), coalesce(opened_months, 0)
FROM item WHERE workshop = @workshop ORDER BY item`

func (r *reading) items() error {
	var i inventory.Item
	return r.each(shopItemsSQL, []any{&i.Code, &i.Name, &i.Kind, &i.Measure, &i.Material, &i.ShelfMonths, &i.Critical, &i.InsideMM,
		&i.SectionMM, &i.Hardness, &i.DensityKgM3, &i.Viscosity40, &i.FlashPointC, &i.Bin, &i.GTIN, &i.OpenedMonths}, func() error {
		r.shop.Items = append(r.shop.Items, i)
		return nil
	})
}

const shopOffersSQL = `
SELECT item, supplier, from_packs, coalesce(supplier_code, ''), pack_qty, min_packs, multiple, price, lead_days
FROM offer WHERE workshop = @workshop ORDER BY item, supplier, from_packs`

func (r *reading) offers() error {
	var o inventory.Offer
	return r.each(shopOffersSQL, []any{&o.Item, &o.Supplier, &o.FromPacks, &o.SupplierCode, &o.PackQty, &o.MinPacks, &o.Multiple,
		&o.Price, &o.LeadDays}, func() error {
		r.shop.Offers = append(r.shop.Offers, o)
		return nil
	})
}

const shopKitsSQL = `SELECT kit, item, qty FROM kit_part WHERE workshop = @workshop ORDER BY kit, item`

func (r *reading) kits() error {
	var k inventory.KitPart
	return r.each(shopKitsSQL, []any{&k.Kit, &k.Item, &k.Qty}, func() error {
		r.shop.Kits = append(r.shop.Kits, k)
		return nil
	})
}

const shopAlternatesSQL = `
SELECT item, alternate, rank, coalesce(note, '') FROM alternate WHERE workshop = @workshop ORDER BY item, alternate`

func (r *reading) alternates() error {
	var a inventory.Alternate
	return r.each(shopAlternatesSQL, []any{&a.Item, &a.Alternate, &a.Rank, &a.Note}, func() error {
		r.shop.Alternates = append(r.shop.Alternates, a)
		return nil
	})
}

const shopHolidaysSQL = `
SELECT day - DATE '1970-01-01', supplier, name FROM holiday WHERE workshop = @workshop ORDER BY day, supplier`

func (r *reading) holidays() error {
	var h inventory.Holiday
	return r.each(shopHolidaysSQL, []any{&h.Date, &h.Supplier, &h.Name}, func() error {
		r.shop.Holidays = append(r.shop.Holidays, h)
		return nil
	})
}

const shopGroovesSQL = `SELECT item, root_mm, bore_mm, width_mm FROM groove WHERE workshop = @workshop ORDER BY item`

func (r *reading) grooves() error {
	var g inventory.Groove
	return r.each(shopGroovesSQL, []any{&g.Item, &g.RootMM, &g.BoreMM, &g.WidthMM}, func() error {
		r.shop.Grooves = append(r.shop.Grooves, g)
		return nil
	})
}

const shopContainersSQL = `
SELECT container, name, coalesce(item, ''), tare_g, coalesce(volume_ml, 0) FROM container WHERE workshop = @workshop ORDER BY container`

func (r *reading) containers() error {
	var c inventory.Container
	return r.each(shopContainersSQL, []any{&c.Code, &c.Name, &c.Item, &c.TareG, &c.VolumeML}, func() error {
		r.shop.Containers = append(r.shop.Containers, c)
		return nil
	})
}

const shopModelsSQL = `SELECT model, name, family FROM model WHERE workshop = @workshop ORDER BY model`

func (r *reading) models() error {
	var m inventory.Model
	return r.each(shopModelsSQL, []any{&m.Code, &m.Name, &m.Family}, func() error {
		r.shop.Models = append(r.shop.Models, m)
		return nil
	})
}

const shopServicesSQL = `
SELECT service, name, family, coalesce(every_hours, 0), coalesce(every_months, 0), covers, coalesce(bench_minutes, 0)
FROM service WHERE workshop = @workshop ORDER BY service`

func (r *reading) services() error {
	var s inventory.Service
	return r.each(shopServicesSQL, []any{&s.Code, &s.Name, &s.Family, &s.EveryHours, &s.EveryMonths, &s.Covers, &s.BenchMinutes}, func() error {
		r.shop.Services = append(r.shop.Services, s)
		s.Covers = nil // else the next row is read into this one's
		return nil
	})
}

const shopBOMSQL = `
SELECT service, model, item, coalesce(NULLIF(valid_from, '-infinity') - DATE '1970-01-01', 0),
	coalesce(NULLIF(valid_to, 'infinity') - DATE '1970-01-01', 0), qty, need, waste, coalesce(note, '')
FROM bom_line WHERE workshop = @workshop ORDER BY service, model, item, valid_from`

func (r *reading) bom() error {
	var b inventory.BOMLine
	return r.each(shopBOMSQL, []any{&b.Service, &b.Model, &b.Item, &b.From, &b.To, &b.Qty, &b.Need, &b.Waste, &b.Note}, func() error {
		r.shop.BOM = append(r.shop.BOM, b)
		return nil
	})
}

const shopSeasonSQL = `SELECT week, factor FROM season WHERE workshop = @workshop`

func (r *reading) season() error {
	var week int
	var factor float64
	return r.each(shopSeasonSQL, []any{&week, &factor}, func() error {
		r.shop.Season[week] = factor
		return nil
	})
}
