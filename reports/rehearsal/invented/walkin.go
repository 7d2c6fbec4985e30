package invented

import (
	"fmt"

	"circlip/inventory"
)

// walkInWeight is how often a service is asked for by walk-ins, in relation to
// the others: narrow ones most.
var walkInWeight = map[string]float64{
	"dropper-clean": 3, "dropper-full": 1, "fork-crash": 2, "fork-lower": 5, "fork-spring": 2, "fork-full": 2, "shock-can": 4, "shock-full": 2,
}

// walkIns adds jobs of units that the book does not know. How many it takes for
// their share of all jobs depends on how many come back as customers, so a
// trial is played first.
func (m *maker) walkIns() {
	m.rates()
	others := float64(m.doneSinceStart())
	if m.WalkInShare <= 0 || others == 0 {
		return
	}
	share := m.WalkInShare
	weeks, all := 0.0, 0.0
	for day := m.Start; day < asOf; day++ {
		weeks += m.factors[day-m.dawn] / 7
	}
	for _, r := range m.Truth.WalkIns {
		all += r.PerWeek
	}
	wanted := others * share / (1 - share)
	trial := *m
	trial.scale(wanted / weeks / all)
	trial.jobs, trial.Shop.Units, trial.Truth.Dues, trial.Truth.HoursPerWeek = nil, nil, nil, map[string]float64{}
	turned := trial.play()
	back := 0.0
	if turned > 0 {
		back = float64(trial.doneSinceStart()-turned) / float64(turned)
	}
	// walk-ins·(1 - share·(1 + back)) = share·others
	m.scale(others * share / max(0.1, 1-share*(1+back)) / weeks / m.turnUp() / all)
	m.play()
}

// turnUp is roughly the share of walk-ins that turn up: one in eight is booked
// for the same day and always does.
func (m *maker) turnUp() float64 { return 1 - m.NoShow*7/8 }

func (m *maker) doneSinceStart() (n int) {
	for _, j := range m.jobs {
		if j.State == inventory.Done && j.DoneOn >= m.Start {
			n++
		}
	}
	return n
}

// rates draws how often each service is asked for on each model.
func (m *maker) rates() {
	d := newDice(m.Seed, streamWalkIns)
	for _, model := range m.Shop.Models {
		popular := d.gamma(4) / 4
		for _, s := range m.Shop.Services {
			if s.Family == model.Family {
				m.Truth.WalkIns = append(m.Truth.WalkIns, Rate{s.Code, model.Code, walkInWeight[s.Code] * popular * d.gamma(3) / 3})
			}
		}
	}
}

// scale multiplies every rate.
func (m *maker) scale(by float64) {
	rates := make([]Rate, len(m.Truth.WalkIns))
	for i, r := range m.Truth.WalkIns {
		r.PerWeek *= by
		rates[i] = r
	}
	m.Truth.WalkIns = rates
}

// play lets walk-ins come from dawn on, and a little beyond AsOf for those that
// have booked. It tells how many of those from Start to AsOf turned up.
func (m *maker) play() (turned int) {
	d := newDice(m.Seed, streamWalkIns+1<<32)
	number := 0
	for monday := m.dawn; monday < asOf+14; monday += 7 {
		for _, r := range m.Truth.WalkIns {
			mean := r.PerWeek * m.factors[monday-m.dawn] * d.gamma(m.Truth.WalkInShape) / m.Truth.WalkInShape
			for range d.poisson(mean) {
				number++
				if m.walkIn(d, r, monday+inventory.Date(d.IntN(5)), number) && monday >= m.Start {
					turned++
				}
			}
		}
	}
	return turned
}

// walkIn is one job; half of those that turn up leave their name, and with a
// new meter become customers, some of whom come back. It tells whether the job
// was done.
func (m *maker) walkIn(d dice, r Rate, bench inventory.Date, number int) bool {
	j := inventory.Job{
		Model: r.Model, Services: []string{r.Service}, BenchDate: bench, State: inventory.Booked,
		BookedOn: bookedOn(0, bench, d.IntN(8)),
	}
	if j.BookedOn >= asOf {
		return false
	}
	known := d.chance(.5)
	if bench < asOf {
		j.State = m.turnsUp(d, j.BookedOn, bench)
	}
	if j.State == inventory.Done && known {
		j.Unit = fmt.Sprintf("%s-%06d", passing, number)
		m.comeBack(newDice(m.Seed, streamSeen+uint64(number)), j)
	}
	m.add(j)
	return j.State == inventory.Done
}

// comeBack rides a unit on from its first visit, after which every clock stands
// at zero.
func (m *maker) comeBack(d dice, j inventory.Job) {
	for _, model := range m.Shop.Models {
		if model.Code != j.Model {
			continue
		}
		rider := m.newRider(d, j.Unit, model, m.Truth.Groups[4], j.BenchDate)
		if m.Meters != MetersNone {
			rider.unit.Readings = []inventory.Reading{{Date: j.BenchDate}}
		}
		if !d.chance(m.Truth.Loyal) {
			rider.coming.Capture = 0
		}
		rider.ride(j.BenchDate+1, j.BenchDate+inventory.Date(730/2*(1+d.gamma(1))))
	}
}
