package plan

import (
	"slices"
	"strconv"

	"circlip/forecast"
	"circlip/inventory"
)

// jobType is all jobs of the same services on the same model while they take
// the same lines.
type jobType struct {
	services []int // places in the shop's services
	model    int   // place in the shop's models
	lines    []inventory.BOMLine
}

// jobTypes numbers the types as they are met.
type jobTypes struct {
	view    *view
	changes []inventory.Date // days ahead on which some bill of materials changes
	known   map[typeKey][]int
	types   []jobType
}

// typeKey tells services on a model apart. Most jobs are of one service; what
// others there are stands in rest.
type typeKey struct {
	model, service int
	rest           string
}

func keyOf(services []int, model int) typeKey {
	var rest []byte
	for _, s := range services[1:] {
		rest = append(strconv.AppendInt(rest, int64(s), 10), '/')
	}
	return typeKey{model, services[0], string(rest)}
}

func (v *view) newJobTypes() *jobTypes {
	t := &jobTypes{view: v, known: map[typeKey][]int{}}
	for _, l := range v.BOM {
		for _, day := range []inventory.Date{l.From, l.To} {
			if day > v.AsOf && !slices.Contains(t.changes, day) {
				t.changes = append(t.changes, day)
			}
		}
	}
	slices.Sort(t.changes)
	return t
}

// byWeek finds the type of a job of some services, at least one, in each week
// of the horizon: the bill of materials is that of the week's first day.
func (t *jobTypes) byWeek(services []int, model int) []int {
	key := keyOf(services, model)
	if types, known := t.known[key]; known {
		return types
	}
	types := make([]int, len(t.view.cal.Weeks))
	version := -1
	for week, w := range t.view.cal.Weeks {
		changes, _ := slices.BinarySearch(t.changes, inventory.Date(w.First)+1)
		if changes != version {
			version = changes
			types[week] = t.add(services, model, inventory.Date(w.First), week > 0)
			continue
		}
		types[week] = types[week-1]
	}
	t.known[key] = types
	return types
}

// add makes a type, unless it takes the same as the latest one, which then is
// of the same services and model.
func (t *jobTypes) add(services []int, model int, day inventory.Date, again bool) int {
	lines := t.view.sourced(t.view.bill.Lines(t.view.codes(services), t.view.Models[model].Code, day))
	last := len(t.types) - 1
	if again && slices.Equal(t.types[last].lines, lines) {
		return last
	}
	t.types = append(t.types, jobType{slices.Clone(services), model, lines})
	return last + 1
}

// eachRung calls do for every rung that takes something off the shelf, with the
// types of its job by week.
func (t *jobTypes) eachRung(f forecast.Future, do func(r forecast.Rung, types []int)) {
	for _, r := range f.Rungs {
		if len(r.Services) > 0 {
			do(r, t.byWeek(r.Services, f.Model))
		}
	}
}
