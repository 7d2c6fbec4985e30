package big

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"circlip/inventory"
)

// rider is a unit as it is ridden.
type rider struct {
	*inventory.Unit
	services []inventory.Service // of its family, narrow to wide
	rate     float64
	hours    float64
	since    []float64 // by service: hours when last done
	on       []inventory.Date
	job      *inventory.Job // under way
}

// live rides every unit for 78 weeks, week by week, and books what comes due.
// Jobs of units that the book does not know make up the number.
func (m *maker) live() {
	byDay := map[inventory.Date][]*inventory.Job{}
	var all []*inventory.Job
	add := func(j *inventory.Job) {
		all = append(all, j)
		byDay[j.BenchDate] = append(byDay[j.BenchDate], j)
	}
	riders := m.riders()
	for sunday := opened + 6; sunday < AsOf; sunday += 7 {
		for n, r := range riders {
			m.ride(r, sunday)
			every := 6
			if r.Holder == inventory.Fleet {
				every = 2
			}
			if (int(sunday-opened)/7+n)%every == 0 {
				r.Readings = append(r.Readings, inventory.Reading{Date: sunday, Hours: math.Round(10*r.hours) / 10})
			}
			if r.job == nil {
				if j := m.comeIn(r, sunday); j != nil {
					add(j)
				}
			}
		}
	}
	open := 0
	for _, j := range all {
		if j.State == inventory.Booked {
			open++
		}
	}
	for range max(0, m.size.Open-open) {
		add(m.walkIn(AsOf+inventory.Date(m.rnd.IntN(28)), inventory.Booked))
	}
	for len(all) < m.size.Jobs {
		add(m.walkIn(opened+1+inventory.Date(m.rnd.IntN(int(AsOf-opened)-1)), inventory.Done))
	}
	for _, r := range riders {
		if r.Holder == inventory.Customer {
			r.HoursPerWeek = nil // the book has only their meters
		}
	}
	m.number(all)
}

// riders put the units on the hill, somewhere between two services.
func (m *maker) riders() []*rider {
	var all []*rider
	for i := range m.Shop.Units {
		r := &rider{Unit: &m.Shop.Units[i], hours: 300 * m.rnd.Float64()}
		r.rate = *r.HoursPerWeek
		for _, s := range m.Shop.Services {
			if s.Family == m.familyOf(r.Model) {
				r.services = append(r.services, s)
			}
		}
		slices.SortFunc(r.services, func(a, b inventory.Service) int { return cmp.Compare(a.EveryHours, b.EveryHours) })
		for _, s := range r.services {
			r.since = append(r.since, max(0, r.hours-s.EveryHours*m.rnd.Float64()))
			r.on = append(r.on, opened-inventory.Date(m.rnd.IntN(100)))
		}
		all = append(all, r)
	}
	return all
}

func (m *maker) familyOf(model string) string {
	i, _ := slices.BinarySearchFunc(m.Shop.Models, model, func(x inventory.Model, code string) int { return cmp.Compare(x.Code, code) })
	return m.Shop.Models[i].Family
}

// ride is one week; a job whose day has come is done at its end.
func (m *maker) ride(r *rider, sunday inventory.Date) {
	const spread = 4
	r.hours += spread * m.gamma(r.rate*season(sunday.Week().Number)/spread)
	if r.job == nil || r.job.BenchDate > sunday {
		return
	}
	for i, s := range r.services {
		if s.Code == r.job.Services[0] || m.bill.Covers(r.job.Services[0], s.Code) {
			r.since[i], r.on[i] = r.hours, r.job.BenchDate
		}
	}
	r.job = nil
}

// comeIn books the widest service that is due; four customers of ten go
// elsewhere.
func (m *maker) comeIn(r *rider, sunday inventory.Date) *inventory.Job {
	for i, s := range slices.Backward(r.services) {
		late := s.EveryMonths > 0 && r.on[i].AddMonths(s.EveryMonths) <= sunday
		if !late && r.hours-r.since[i] < s.EveryHours {
			continue
		}
		if r.Holder == inventory.Customer && m.rnd.Float64() > .6 {
			r.since[i], r.on[i] = r.hours, sunday
			return nil
		}
		wait := 1 + m.rnd.IntN(14)
		if r.Holder == inventory.Customer {
			wait += m.rnd.IntN(28)
		}
		bench := workday(sunday + inventory.Date(wait))
		r.job = &inventory.Job{
			Unit: r.Code, Model: r.Model, Services: []string{s.Code},
			BookedOn: max(sunday, bench-14), BenchDate: bench, State: inventory.Done, DoneOn: bench,
		}
		if r.job.BookedOn >= AsOf {
			return nil // will come, but has not called yet
		}
		if bench >= AsOf {
			r.job.State, r.job.DoneOn = inventory.Booked, 0
		}
		return r.job
	}
	return nil
}

func (m *maker) walkIn(day inventory.Date, state inventory.JobState) *inventory.Job {
	model := m.Shop.Models[m.rnd.IntN(len(m.Shop.Models))]
	j := &inventory.Job{Model: model.Code, BenchDate: workday(day), State: state}
	if state == inventory.Done && j.BenchDate >= AsOf {
		j.BenchDate -= 4
	}
	j.BookedOn = min(AsOf, j.BenchDate) - 3
	if state == inventory.Done {
		j.DoneOn = j.BenchDate
	}
	var fit []string
	for _, s := range m.Shop.Services {
		if s.Family == model.Family {
			fit = append(fit, s.Code)
		}
	}
	j.Services = []string{fit[m.rnd.IntN(len(fit))]}
	return j
}

// workday moves weekends to Monday.
func workday(d inventory.Date) inventory.Date {
	for d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
		d++
	}
	return d
}

// number gives the jobs their codes in the order of their days.
func (m *maker) number(all []*inventory.Job) {
	slices.SortStableFunc(all, func(a, b *inventory.Job) int { return cmp.Compare(a.BenchDate, b.BenchDate) })
	for n, j := range all {
		j.Code = fmt.Sprintf("J%06d", n+1)
		m.Shop.Jobs = append(m.Shop.Jobs, *j)
	}
}

// gamma draws a gamma variate of scale one (Marsaglia & Tsang 2000).
func (m *maker) gamma(shape float64) float64 {
	if shape <= 0 {
		return 0
	}
	if shape < 1 {
		return m.gamma(shape+1) * math.Pow(m.rnd.Float64(), 1/shape)
	}
	d := shape - 1./3
	for {
		x := m.rnd.NormFloat64()
		v := math.Pow(1+x/math.Sqrt(9*d), 3)
		if v > 0 && math.Log(m.rnd.Float64()) < x*x/2+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}
