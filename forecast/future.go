package forecast

// Rung is one job foreseen on one unit. It leads from one stage of what may
// become of the unit to another; Start is the unit as it stands.
type Rung struct {
	After    int       // the stage it follows
	Stage    int       // the stage it leads to; several rungs may lead to one
	Services []int     // IDs of the services whose bill of materials it takes
	Source   Source    // where it comes from
	Capture  float64   // probability that it is done here, given that it is done
	Done     []float64 // for each week, the probability that it is done in it
	Day      Day       // the day of an open job; 0: any working day of the weeks
}

// Start is the stage of a unit as it stands.
const Start = -1

// Future is what may become of one unit. Rungs that follow the same stage
// exclude each other, and a rung is done after one that leads to its stage.
// Done counts the whole way to the rung: it is not conditional on what came
// before. Rungs are listed after those that lead to their stage. A rung
// without services is one that another Future of the unit lists.
type Future struct {
	Unit  int // place in the list of units that Futures was given
	Model int
	Rungs []Rung
}

// BookedJob is the future of a job in the book whose unit is not known or
// has no clocks: one rung, turning up with probability showRate on its day.
func BookedJob(cal *Calendar, model int, services []int, bench Day, showRate float64) Future {
	done := make([]float64, len(cal.Weeks))
	if week := cal.WeekOf(max(bench, cal.AsOf)); week < len(done) {
		done[week] = showRate
	}
	own := append([]int(nil), services...)
	return Future{Model: model, Rungs: []Rung{{
		After: Start, Services: own, Source: Booked, Capture: 1, Done: done, Day: max(bench, cal.AsOf),
	}}}
}

// Arrivals is the expected number of jobs with a service in a week, over all
// sources, or over those listed.
func Arrivals(futures []Future, service, week int, from ...Source) float64 {
	sum := 0.0
	for _, f := range futures {
		for _, r := range f.Rungs {
			if r.does(service) && r.isFrom(from) {
				sum += r.Capture * r.Done[week]
			}
		}
	}
	return sum
}

func (r Rung) does(service int) bool {
	for _, s := range r.Services {
		if s == service {
			return true
		}
	}
	return false
}

func (r Rung) isFrom(sources []Source) bool {
	for _, s := range sources {
		if r.Source == s {
			return true
		}
	}
	return len(sources) == 0
}
