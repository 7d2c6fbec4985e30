package workbook

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/inventory/book"
	"circlip/reports"
)

// shelfRows is what is to be counted while its sheet is read.
type shelfRows struct {
	tab        string
	on         inventory.Date                 // of the count; zero: it is not told
	at         map[string]inventory.Item      // by the codes on the sheet
	containers map[string]inventory.Container // by the codes on the sheet
	seen       map[string]bool                // items that were counted
	blank      []unweighed
}

// unweighed is a row that names a container and says nothing of what it holds.
type unweighed struct {
	row       int
	item      string
	container string
}

func newShelfRows(d reports.CountDue, tab string, on inventory.Date) *shelfRows {
	s := &shelfRows{tab: tab, on: on, at: map[string]inventory.Item{}, containers: map[string]inventory.Container{}, seen: map[string]bool{}}
	for _, l := range d.Lines {
		s.at[reports.Plain(l.Item.Code)] = l.Item
	}
	for _, c := range d.Containers {
		s.containers[reports.Plain(c.Code)] = c
	}
	return s
}

// teller gathers what is wrong with a row.
type teller struct {
	tab    string
	row    int
	faults []book.Fault
}

func (t *teller) tell(column, problem, found, expected string) {
	t.faults = append(t.faults, book.Fault{Table: t.tab, Row: t.row, Column: shown(nameOf(column)), Problem: problem, Found: found, Expected: expected})
}

// check reads what was found of an item or of one container, nil where the row
// is blank, and what is wrong with it. Pieces stand in one row, fluids and
// grease in as many as they have containers.
func (s *shelfRows) check(v values) (*inventory.Counted, []book.Fault) {
	t, code := &teller{tab: s.tab, row: v.row}, v.text("our code")
	item, known := s.at[code]
	if !known {
		t.tell("our code", "not an item of this count", code, "one of the items listed; what else was found is counted by itself")
		return nil, t.faults
	}
	if unit := v.text("unit"); unit != "" && unit != string(item.Measure) {
		t.tell("unit", "the unit was changed", unit, string(item.Measure))
	}
	container := s.container(t, v, item)
	counted, weighed := v.typed(reports.FoundColumn), v.typed(reports.GrossColumn, reports.TareColumn, reports.TemperatureColumn)
	c := &inventory.Counted{Item: item.Code, Container: container.Code, OpenedOn: s.opened(t, v)}
	switch {
	case counted && weighed:
		t.tell(reports.FoundColumn, "counted and weighed", v.found(nameOf(reports.FoundColumn)), "one of them; another container has its own row")
	case counted:
		c.Qty = t.found(v, item)
	case weighed:
		c.Weighed = t.weighing(v, item, container)
		if c.Weighed != nil {
			c.Qty = t.content(*c.Weighed, item)
		}
	default:
		if v.typed(reports.ContainerColumn, reports.OpenedOnColumn) {
			s.blank = append(s.blank, unweighed{v.row, item.Code, v.text(nameOf(reports.ContainerColumn))})
		}
		return nil, t.faults
	}
	if s.seen[item.Code] && item.Measure == inventory.Each {
		t.tell("our code", "the item stands twice", code, "each item once; add up what lies in several places")
	}
	s.seen[item.Code] = true
	return c, t.faults
}

// typed reports whether anything stands in one of the columns.
func (v values) typed(columns ...string) bool {
	return slices.ContainsFunc(columns, func(c string) bool { return v.of(nameOf(c)) != nil })
}

// container is the known one that a row names, the zero one where it names none
// or a wrong one.
func (s *shelfRows) container(t *teller, v values, item inventory.Item) inventory.Container {
	code := v.text(nameOf(reports.ContainerColumn))
	c, known := s.containers[code]
	switch {
	case code == "":
	case item.Measure == inventory.Each:
		t.tell(reports.ContainerColumn, "a container of pieces", code, "it blank")
	case !known:
		t.tell(reports.ContainerColumn, "no container of this name is known", code, s.names(item))
	case !c.Holds(item.Code):
		t.tell(reports.ContainerColumn, "a container for "+c.Item, code, s.names(item))
	default:
		return c
	}
	return inventory.Container{}
}

// names are the containers in which an item may be.
func (s *shelfRows) names(item inventory.Item) string {
	var names []string
	for code, c := range s.containers {
		if c.Holds(item.Code) {
			names = append(names, code)
		}
	}
	slices.Sort(names)
	if len(names) > mostNamed {
		names = append(names[:mostNamed], "…")
	}
	return strings.Join(append(names, "it blank, with a tare"), ", or ")
}

// mostNamed is how many containers a fault names.
const mostNamed = 6

// opened is the day on which a container was opened, none where it is wrong.
func (s *shelfRows) opened(t *teller, v values) inventory.Date {
	on := v.date(nameOf(reports.OpenedOnColumn))
	if !s.on.IsZero() && on > s.on {
		t.tell(reports.OpenedOnColumn, "after the count", on.String(), s.on.String()+" or earlier")
		return 0
	}
	return on
}

// forgotten tells of containers that were neither weighed nor measured beside
// others of their item that were: a part of the shelf would be missing.
func (s *shelfRows) forgotten() (faults []book.Fault) {
	for _, b := range s.blank {
		if s.seen[b.item] {
			t := &teller{tab: s.tab, row: b.row}
			t.tell(reports.GrossColumn, "blank beside other containers of "+b.item, b.container, "its weight, 0 under "+reports.FoundColumn+" where it is empty, or the row deleted where it is gone")
			faults = append(faults, t.faults...)
		}
	}
	return faults
}

// found is the number that was counted, in steps of the item's measure.
func (t *teller) found(v values, item inventory.Item) inventory.Quantity {
	number, _ := v.of(nameOf(reports.FoundColumn)).(float64)
	steps := number * float64(item.Measure.Steps())
	switch whole := math.Round(steps); {
	case !sameNumber(steps, whole):
		decimals := "a whole number"
		if item.Measure.Steps() > 1 {
			decimals = "one decimal at most"
		}
		t.tell(reports.FoundColumn, "too many decimals", v.found(nameOf(reports.FoundColumn)), decimals)
	case whole > float64(inventory.MaxQuantity):
		t.tell(reports.FoundColumn, "more than a shelf can hold", v.found(nameOf(reports.FoundColumn)), "at most "+item.Measure.Format(inventory.MaxQuantity))
	default:
		return inventory.Quantity(whole)
	}
	return 0
}

// weighing is a container on the scale, nil where its row is not whole. A known
// container needs no tare.
func (t *teller) weighing(v values, item inventory.Item, in inventory.Container) *inventory.Weighing {
	gross, hasGross := v.of(nameOf(reports.GrossColumn)).(float64)
	tare, hasTare := v.of(nameOf(reports.TareColumn)).(float64)
	if !hasTare && in.Code != "" {
		tare, hasTare = in.TareG, true
	}
	w := &inventory.Weighing{GrossG: gross, TareG: tare}
	if temp, typed := v.of(nameOf(reports.TemperatureColumn)).(float64); typed {
		w.TempC = &temp
	}
	switch {
	case item.Measure == inventory.Each:
		t.tell(reports.GrossColumn, "a weight of pieces", v.found(nameOf(reports.GrossColumn)), "the number of pieces under "+reports.FoundColumn)
	case !reports.Weighs(item):
		t.tell(reports.GrossColumn, "a weight of an item without a density", v.found(nameOf(reports.GrossColumn)), "what is there in ml under "+reports.FoundColumn)
	case !hasGross:
		t.tell(reports.GrossColumn, "blank", "", "the weight of the container with what it holds")
	case !hasTare:
		t.tell(reports.TareColumn, "blank", "", "the weight of the empty container, 0 where there is none; or a known container")
	case gross < tare:
		t.tell(reports.GrossColumn, "less than the empty container", fmt.Sprint(gross), fmt.Sprintf("%v or more", tare))
	default:
		return w
	}
	return nil
}

// content is what a container held.
func (t *teller) content(w inventory.Weighing, item inventory.Item) inventory.Quantity {
	q, err := w.Quantity(item.Measure, item.DensityKgM3)
	if err != nil {
		t.tell(reports.GrossColumn, "more than a shelf can hold", fmt.Sprint(w.GrossG), "at most "+item.Measure.Format(inventory.MaxQuantity)+" "+string(item.Measure))
	}
	return q
}
