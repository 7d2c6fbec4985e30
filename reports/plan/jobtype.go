package plan

import (
	"slices"
	"strconv"
	"strings"

	"circlip/inventory"
)

// jobType is all jobs of the same services on the same model while the same
// bill of materials is in force.
type jobType struct {
	services []int // places in the shop's services
	model    int   // place in the shop's models
	lines    []inventory.BOMLine
}

// jobTypes numbers the types as they are met.
type jobTypes struct {
	view    *view
	changes []inventory.Date // days ahead on which some bill of materials changes
	at      map[typeKey]int
	types   []jobType
}

// typeKey is what tells types apart: version counts the changes of some bill
// of materials up to the job's week.
type typeKey struct {
	model, version int
	services       string
}

func servicesKey(services []int) string {
	var key []byte
	for _, s := range services {
		key = append(strconv.AppendInt(key, int64(s), 10), '/')
	}
	return string(key)
}

func (v *view) newJobTypes() *jobTypes {
	t := &jobTypes{view: v, at: map[typeKey]int{}}
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

// of finds the type of a job in a week of the horizon: the bill of materials
// is that of the week's first day.
func (t *jobTypes) of(services []int, model, week int) int {
	day := inventory.Date(t.view.cal.Weeks[week].First)
	version, _ := slices.BinarySearch(t.changes, day+1)
	key := typeKey{model, version, servicesKey(services)}
	if at, known := t.at[key]; known {
		return at
	}
	lines := t.view.bill.Lines(t.view.codes(services), t.view.Models[model].Code, day)
	t.types = append(t.types, jobType{slices.Clone(services), model, t.view.sourced(lines)})
	t.at[key] = len(t.types) - 1
	return t.at[key]
}

// label names a type as people would.
func (t *jobTypes) label(at int) string {
	return strings.Join(t.view.codes(t.types[at].services), "+") + " on " + t.view.Models[t.types[at].model].Code
}
