package forecast

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The laws of a whole life against the life itself, played day by day: a busy
// fork with three services, one covering the other, and one that is booked. A
// law treats the ways to a stage as one, which widens it a little with every
// job: 0.3 points within four weeks, 3 within twenty-six.
func TestLawsAgreeWithTheSimulation(t *testing.T) {
	const replicates = 20_000
	sampling := 4 * math.Sqrt(.25/replicates) // four standard errors at most
	asOf := Day(20_614)
	cal, err := NewCalendar(asOf, 26, nil)
	if err != nil {
		t.Fatal(err)
	}
	ladder := &Ladder{FoldIn: .25, Services: []Service{{ID: 0, Every: 50, Months: 6}, {ID: 1, Every: 100, Months: 12, Covers: []int{0}}, {ID: 2, Every: 200, Months: 24, Covers: []int{1}}}}
	fork := func(rate float64, hours ...Hours) Unit {
		u := Unit{Ladder: ladder, HoursPerWeek: rate, Spread: 4, ReadOn: asOf - 7, Capture: 1, LagWeeks: 1, ShowRate: .8}
		for _, h := range hours {
			u.Clocks = append(u.Clocks, Clock{h, asOf - 100})
		}
		return u
	}
	booked := fork(12, 30, 80, 130)
	booked.Bookings = []Booking{{[]int{0}, asOf + 9}}
	for name, unit := range map[string]Unit{"a fork in the middle of its ladder": fork(10, 20, 70, 70), "one that is nearly due": fork(10, 45, 95, 150), "one that is booked": booked} {
		t.Run(name, func(t *testing.T) {
			futures, err := Futures(cal, []Unit{unit})
			if err != nil {
				t.Fatal(err)
			}
			// Item 0: one of every job. Item 1: one of the widest. Item 2: as many as
			// the job is wide.
			var lines [][]Line
			for s := range ladder.Services {
				list := []Line{{Item: 0, Need: 1, Size: Certain(1)}, {Item: 2, Need: 1, Size: Certain(s + 1)}}
				if s == 2 {
					list = append(list, Line{Item: 1, Need: 1, Size: Certain(1)})
				}
				lines = append(lines, list)
			}
			takings := NewTakings(futures, nil, 3, lines, func(services []int, _ int) []int {
				kinds := make([]int, len(cal.Weeks))
				for week := range kinds {
					kinds[week] = services[0]
				}
				return kinds
			})
			lives := playOut(cal, &unit, replicates)
			for weeks, within := range map[int]float64{4: .003, 8: .03, 13: .03, 26: .03} {
				for item, law := range takings.Laws(cal.Until(cal.Weeks[weeks-1].Last), []int{0, 1, 2}) {
					counted := make([]float64, 100)
					for _, l := range lives {
						counted[l.uses(weeks)[item]] += 1. / replicates
					}
					upTo := 0.0
					for value, share := range counted {
						if upTo += share; math.Abs(law.CDF(value)-upTo) > within+sampling {
							t.Errorf("item %d, %d weeks: probability of %d or less is %.4f, in the simulation %.4f", item, weeks, value, law.CDF(value), upTo)
						}
					}
				}
			}
		})
	}
}

// life is how many jobs of each service one replicate had in each week.
type life [3][26]int

// uses are what the first weeks' jobs take of the three items above.
func (l life) uses(weeks int) (uses [3]int) {
	for s := range l {
		for _, jobs := range l[s][:weeks] {
			uses[0] += jobs
			uses[2] += jobs * (s + 1)
			if s == 2 {
				uses[1] += jobs
			}
		}
	}
	return uses
}

func playOut(cal *Calendar, u *Unit, replicates int) []life {
	lives := make([]life, replicates)
	s := newSimulated(cal, u)
	player := &simLife{simulated: s, r: rand.New(rand.NewPCG(26, 1)), each: 1}
	for k := range lives {
		player.play()
		for service := range lives[k] {
			for week := range lives[k][service] {
				lives[k][service][week] = int(s.counts[service][week] + s.booked[service][week])
			}
			clear(s.counts[service])
			clear(s.booked[service])
		}
	}
	return lives
}
