package inventory

import (
	"slices"
	"sort"
)

// Before is the shop as it was known on the morning of an earlier day, its
// AsOf: what was read, booked, done, used, ordered and received until the
// evening before. A job that was done, missed or cancelled later is still
// booked; where the day it was called off is not known, it counts as booked
// until its bench day. A customer's unit is known from its first
// reading or booking on, one of the fleet from the day it went into service.
// Retirements to come are not known; units retired before are still there.
// Prices, bills of materials and settings are those of now. The shelf itself,
// lots, counts and their containers, is left out: its movements are not part of
// a Shop, only what came, what was thrown away or opened, and what jobs spoiled.
// The shop is not changed.
func (s Shop) Before(day Date) Shop {
	past := s
	past.AsOf = day
	past.Lots, past.Counts, past.CountParts, past.Openings = nil, nil, nil, nil
	past.Jobs = s.jobsBefore(day)
	done := map[string]bool{}
	seen := map[string]bool{}
	for _, j := range past.Jobs {
		seen[j.Unit] = true
		done[j.Code] = j.State == Done
	}
	past.Uses = slices.DeleteFunc(slices.Clone(s.Uses), func(u JobUse) bool { return !done[u.Job] })
	past.Setups = slices.DeleteFunc(slices.Clone(s.Setups), func(u Setup) bool { return u.On >= day })
	past.Units = nil
	for _, u := range s.Units {
		if u, known := u.before(day, seen[u.Code]); known {
			past.Units = append(past.Units, u)
		}
	}
	past.Orders = nil
	for _, o := range s.Orders {
		if o.PlacedOn >= day {
			continue
		}
		if o.ReceivedOn >= day {
			o.ReceivedOn, o.ReceivedPacks = 0, 0
		}
		if o.ClosedOn >= day {
			o.ClosedOn = 0
		}
		past.Orders = append(past.Orders, o)
	}
	past.Receipts = slices.DeleteFunc(slices.Clone(s.Receipts), func(r Receipt) bool { return r.Date >= day })
	past.Others = slices.DeleteFunc(slices.Clone(s.Others), func(m OtherMove) bool { return m.Date >= day })
	past.Spoils = slices.DeleteFunc(slices.Clone(s.Spoils), func(s Spoiled) bool { return s.Date >= day })
	past.Disposals = slices.DeleteFunc(slices.Clone(s.Disposals), func(d Disposal) bool { return d.Date >= day })
	return past
}

func (s Shop) jobsBefore(day Date) []Job {
	var known []Job
	for _, j := range s.Jobs {
		if j.KnownFrom() >= day {
			continue
		}
		if end := j.EndedOn(); j.State != Booked && end >= day {
			j.State, j.DoneOn, j.CancelledOn, j.DoneBy = Booked, 0, 0, ""
		}
		known = append(known, j)
	}
	return known
}

// KnownFrom is the day on which a job came into the book: that of its booking,
// or where that is not kept the day it ended.
func (j Job) KnownFrom() Date {
	if j.BookedOn.IsZero() {
		return j.EndedOn()
	}
	return j.BookedOn
}

// EndedOn is the day a job was done or called off, or should have been done.
func (j Job) EndedOn() Date {
	switch {
	case j.State == Done && !j.DoneOn.IsZero():
		return j.DoneOn
	case j.State != Booked && !j.CancelledOn.IsZero():
		return j.CancelledOn
	}
	return j.BenchDate
}

// before is the unit as it was known before a day, if it was.
func (u Unit) before(day Date, seen bool) (Unit, bool) {
	n := sort.Search(len(u.Readings), func(i int) bool { return u.Readings[i].Date >= day })
	u.Readings = u.Readings[:n:n]
	if u.Retired >= day {
		u.Retired = 0
	}
	if u.Holder == Customer {
		return u, seen || n > 0
	}
	return u, seen || n > 0 || u.InService < day
}
