package inventory

import (
	"maps"
	"slices"
)

// pool is one item's free lots, deliveries to come, and the law of what jobs
// so far may by chance take.
type pool struct {
	lots   []Lot            // first expired first, OnHand already without what is set aside
	aside  map[string][]Lot // by job: what is set aside for it of each lot, as OnHand
	coming []delivery
	chance law
	kept   Quantity // as much of chance as the shop's readiness asks for
}

type delivery struct {
	on  Date
	qty Quantity
}

// clone is a pool from which can be taken without taking from s. Laws are never
// changed, only replaced.
func (s *pool) clone() *pool {
	c := &pool{lots: slices.Clone(s.lots), aside: maps.Clone(s.aside), coming: slices.Clone(s.coming), chance: s.chance, kept: s.kept}
	for job, lots := range c.aside {
		c.aside[job] = slices.Clone(lots)
	}
	return c
}

// add puts a lot into the pool, apart from what is set aside of it for jobs.
func (s *pool) add(l Lot) {
	for _, a := range l.SetAside {
		kept := l
		kept.OnHand, kept.SetAside = a.Qty, nil
		s.aside[a.Job] = append(s.aside[a.Job], kept)
	}
	l.OnHand, l.SetAside = l.Free(), nil
	s.lots = append(s.lots, l)
}

// keptFor is what is set aside for the job and good on the day.
func (s *pool) keptFor(job string, on Date) Quantity {
	var sum Quantity
	for _, l := range s.aside[job] {
		if l.UsableOn(on) {
			sum += l.OnHand
		}
	}
	return sum
}

// takeAside removes q of what is kept for the job.
func (s *pool) takeAside(job string, q Quantity, on Date) {
	for i := range s.aside[job] {
		if lot := &s.aside[job][i]; lot.UsableOn(on) {
			n := min(q, lot.OnHand)
			lot.OnHand -= n
			q -= n
		}
	}
}

// free is what is on the shelf, promised to nobody and good on the day.
func (s *pool) free(on Date) Quantity {
	var sum Quantity
	for _, l := range s.lots {
		if l.UsableOn(on) {
			sum += l.OnHand
		}
	}
	return sum
}

func (s *pool) first(on Date) *Lot {
	for i := range s.lots {
		if s.lots[i].OnHand > 0 && s.lots[i].UsableOn(on) {
			return &s.lots[i]
		}
	}
	return nil
}

// take removes q, which must be free, first expired first.
func (s *pool) take(q Quantity, on Date) Quantity {
	for left := q; left > 0; {
		lot := s.first(on)
		n := min(left, lot.OnHand)
		lot.OnHand -= n
		left -= n
	}
	return q
}

func (s *pool) due(on Date) Quantity {
	var sum Quantity
	for _, d := range s.coming {
		if d.on <= on {
			sum += d.qty
		}
	}
	return sum
}

// takeComing removes q, which must be due, earliest first, and returns the day
// the last of it comes.
func (s *pool) takeComing(q Quantity, on Date) (Quantity, Date) {
	last := s.dueDate(q, on)
	left := q
	for i := range s.coming {
		n := min(left, s.coming[i].qty)
		s.coming[i].qty -= n
		left -= n
	}
	return q, last
}

// dueDate is the day by which q of what is due has come.
func (s *pool) dueDate(q Quantity, on Date) Date {
	var sum Quantity
	for _, d := range s.coming {
		if sum += d.qty; sum >= q && d.qty > 0 {
			return d.on
		}
	}
	return on
}

// nextAfter is the first delivery after the day, or what was known before.
func (s *pool) nextAfter(on, known Date) Date {
	for _, d := range s.coming {
		if d.on > on && d.qty > 0 {
			return d.on
		}
	}
	return known
}
