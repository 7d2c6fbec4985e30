//go:build ignore

package main

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"log"
	"os"
	"slices"
	"strconv"
	"strings"
)

func (w *shop) write() {
	save("settings", "key,value", [][]string{
		{"workshop", "Larch Ridge Bike Park workshop (invented)"}, {"currency", "EUR"}, {"time_zone", "Europe/Vienna"},
		{"readiness", "0.97"}, {"horizon_weeks", "26"}, {"order_weekday", "mon"}, {"holding_rate", "0.20"}, {"show_rate", "0.95"},
		{"fleet_capture", "1.0"}, {"fleet_lag_weeks", "1"}, {"customer_capture", "0.6"}, {"customer_lag_weeks", "3"},
		{"usage_spread_h", "4"}, {"fold_in", "0.25"}, {"learn", "yes"}, {"shelf_life_standard", "ISO 2230:2002"}, {"flammable_limit_l", "15"}, {"scale_step_g", "0.1"},
	})
	save("suppliers", "supplier,name,order_weekday,cutoff,lead_days,min_order,carriage,carriage_free_from", suppliers)
	save("holidays", "date,supplier,name", holidays)
	w.writeItems()
	save("grooves", "item,root_mm,bore_mm,width_mm", grooves)
	save("kits", "kit,item,qty", kitParts())
	save("alternates", "item,alternate,rank,note", [][]string{
		{"oil-damper-light", "oil-damper-medium", "1", "one step firmer; ask the rider first"},
		{"oring-metric-12", "oring-shaft-12", "1", "the inch size does as well"},
	})
	var rows [][]string
	for _, m := range models {
		rows = append(rows, []string{m.code, m.name, m.family})
	}
	save("models", "model,name,family", rows)
	w.writeServices()
	w.writeUnits()
	rows = nil
	for n := 1; n <= 53; n++ {
		rows = append(rows, []string{strconv.Itoa(n), trim(factor(min(n, 52)), 2)})
	}
	save("season", "week,factor", rows)
	w.writeJobs()
	save("stock", "item,lot,qty,counted_on,cure_date,expires_on,unit_cost", w.opening)
	w.writeOrders()
	save("containers", "container,name,item,tare_g,volume_ml", w.containers())
	save("counts", "item,date,qty,gross_g,tare_g,temp_c", w.counts)
	save("count_parts", "item,date,number,container,qty,gross_g,tare_g,temp_c,opened_on", w.parts)
	save("disposals", "date,number,stream,moment,volume_ml,weight_g,carrier,document,note", w.disposals())
	log.Printf("%d units, %d items, %d jobs, %d uses, %d orders, %d readings, %d counts", len(w.units), len(w.items), len(w.jobs), len(w.uses), len(w.orders), len(w.readings), len(w.counts))
}

func (w *shop) writeItems() {
	var rows, offers [][]string
	cols := []string{"opened_months", "inside_mm", "section_mm", "hardness", "density_kg_m3", "viscosity_40c", "flash_point_c"}
	for n, i := range w.items {
		row := []string{i.code, i.name, i.kind, i.unit, i.material, "", map[bool]string{true: "", false: "no"}[i.critical]}
		if i.months > 0 {
			row[5] = strconv.Itoa(i.months)
		}
		if i.unit != "ea" {
			i.extra["opened_months"] = "12" // common practice, no source
		}
		for _, c := range cols {
			row = append(row, i.extra[c])
		}
		rows = append(rows, append(row, fmt.Sprintf("%c%d", 'A'+n/12, n%12+1)))
		if i.supplier != "" {
			offers = append(offers, []string{i.code, i.supplier, "1", fmt.Sprintf("%s-%04d", strings.ToUpper(i.supplier[:2]), 1000+37*n), num(i.pack), "1", "1", trim(i.price, 2), ""})
			if i.unit == "ea" && i.pack > 1 {
				offers = append(offers, []string{i.code, i.supplier, "5", fmt.Sprintf("%s-%04d", strings.ToUpper(i.supplier[:2]), 1000+37*n), num(i.pack), "1", "1", trim(i.price*.92, 2), ""})
			}
		}
		if i.second != "" {
			offers = append(offers, []string{i.code, i.second, "1", fmt.Sprintf("T%05d", 500+n), num(i.pack), "1", "1", trim(i.price*1.15, 2), "2"})
		}
	}
	save("items", "item,name,kind,unit,material,shelf_months,critical,"+strings.Join(cols, ",")+",bin", rows)
	save("offers", "item,supplier,from_packs,supplier_code,pack_qty,min_packs,multiple,price,lead_days", offers)
}

func (w *shop) writeServices() {
	var rows, lines [][]string
	for _, s := range services {
		rows = append(rows, []string{s.code, s.name, s.family, strconv.Itoa(s.hours), strconv.Itoa(s.months), s.covers, strconv.Itoa(s.minutes)})
		for _, m := range models {
			if m.family != s.family {
				continue
			}
			for _, l := range bom(s, m.code) {
				own := m.code
				if !strings.HasPrefix(l.item, m.code) && !strings.HasPrefix(l.item, "oil-damper") {
					own = "*"
				}
				row := []string{s.code, own, l.item, "", num(l.qty), trim(l.need, 2), trim(l.waste, 2), ""}
				if !slices.ContainsFunc(lines, func(r []string) bool { return slices.Equal(r[:3], row[:3]) }) {
					lines = append(lines, row)
				}
			}
		}
	}
	save("services", "service,name,family,every_hours,every_months,covers,bench_minutes", rows)
	save("bom", "service,model,item,from,qty,need,waste,to", lines)
}

func (w *shop) writeUnits() {
	var rows [][]string
	for _, u := range w.units {
		weekly := trim(u.weekly, 1)
		if u.group == "local" {
			weekly = ""
		}
		rows = append(rows, []string{u.code, u.model, u.holder, u.group, weekly, start.AddMonths(-9).String(), ""})
	}
	save("units", "unit,model,holder,group,hours_per_week,in_service,retired", rows)
	slices.SortStableFunc(w.readings, func(a, b []string) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	save("readings", "unit,date,hours,reset", w.readings)
}

func (w *shop) writeJobs() {
	var rows [][]string
	for _, j := range w.jobs {
		if j.bookedOn > end {
			continue
		}
		u := ""
		if j.known {
			u = j.unit.code
		}
		rows = append(rows, []string{j.code, u, j.model, j.service, j.bookedOn.String(), j.on.String(), j.state, j.doneOn.String(), j.doneBy})
	}
	save("jobs", "job,unit,model,service,booked_on,bench_date,state,done_on,done_by", rows)
	save("job_use", "job,item,lot,qty", w.uses)
}

func (w *shop) writeOrders() {
	var rows [][]string
	for _, o := range w.orders {
		if o.placed >= end {
			continue // today's order is the plan's to make
		}
		came, packs := "", ""
		if o.came < end {
			came, packs = o.came.String(), strconv.Itoa(o.packs)
		}
		rows = append(rows, []string{o.code, o.item, o.supplier, strconv.Itoa(o.packs), o.placed.String(), o.due.String(), came, packs})
	}
	save("orders", "order,item,supplier,packs,placed_on,due_on,received_on,received_packs", rows)
}

func save(table, header string, rows [][]string) {
	f, err := os.Create(table + ".csv")
	if err != nil {
		log.Fatal(err)
	}
	out := csv.NewWriter(f)
	out.Write(strings.Split(header, ","))
	out.WriteAll(rows)
	if err := cmp.Or(out.Error(), f.Close()); err != nil {
		log.Fatal(err)
	}
}

func num(x float64) string { return trim(x, 1) }

func trim(x float64, decimals int) string {
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}
