package stock_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"circlip/forecast/stock"
)

// Three workshops with streams and units by drawing them: gamma rates, Poisson
// counts, what each job takes. 200,000 throws; a chance drawn so lies within
// four standard errors but once in 16,000 times.
func TestStreamsByThrows(t *testing.T) {
	for seed := range uint64(3) {
		p := bench(seed)
		rng := rand.New(rand.NewPCG(seed, 3))
		for typ := range p.Types {
			s := stock.Stream{Type: typ, Shape: []float64{0, 0.5, 2}[typ%3]}
			for range p.Windows {
				s.Means = append(s.Means, rng.Float64())
			}
			p.Streams = append(p.Streams, s)
		}
		levels := make([]int, len(p.Items))
		for i := range levels {
			levels[i] = 2 + rng.IntN(4)
		}
		for e := range p.Events[:3] {
			for o := range p.Events[e] {
				p.Events[e][o].Then = []stock.Job{{Type: o % len(p.Types), Window: p.Windows - 1}}
			}
		}
		const throws = 200_000
		thrown := throw(p, levels, throws, rng)
		for name, effort := range map[string]stock.Effort{"usual": {}, "simulated": {States: 1}} {
			j, err := stock.New(p, effort)
			if err != nil {
				t.Fatal(err)
			}
			got := j.Readiness(levels)
			at := fmt.Sprintf("%s, workshop %d", name, seed)
			near(t, at+" readiness", got.Workshop, thrown.ready/thrown.jobs, 4*thrown.error+4*got.StandardError)
			near(t, at+" jobs", got.Jobs, thrown.jobs/throws, 4*thrown.jobsError+0.01*got.Jobs)
			for i, a := range got.Availability {
				near(t, fmt.Sprintf("%s availability of item %d", at, i), a, thrown.enough[i]/throws, 4*math.Sqrt(0.25/throws))
			}
		}
	}
}

type thrown struct {
	jobs, ready, error, jobsError float64
	enough                        []float64
}

func throw(p stock.Problem, levels []int, throws int, rng *rand.Rand) thrown {
	sum := thrown{enough: make([]float64, len(p.Items))}
	var jobs, ready []float64
	for range throws {
		all, demand := throwJobs(p, rng), make([]int, len(p.Items))
		for _, j := range all {
			for i, qty := range j.takes {
				if j.window <= p.Items[i].Window {
					demand[i] += qty
				}
			}
		}
		for i := range levels {
			if demand[i] <= levels[i] {
				sum.enough[i]++
			}
		}
		n, good := 0.0, 0.0
		for _, j := range all {
			if j.window > lastWindow(p, j.typ) {
				continue
			}
			n++
			good++
			for i, waits := range j.waits {
				if waits && demand[i] > levels[i] {
					good--
					break
				}
			}
		}
		jobs, ready = append(jobs, n), append(ready, good)
		sum.jobs, sum.ready = sum.jobs+n, sum.ready+good
	}
	share, mean := sum.ready/sum.jobs, sum.jobs/float64(throws)
	for k := range jobs {
		sum.error += (ready[k] - share*jobs[k]) * (ready[k] - share*jobs[k])
		sum.jobsError += (jobs[k] - mean) * (jobs[k] - mean)
	}
	sum.error = math.Sqrt(sum.error) / sum.jobs
	sum.jobsError = math.Sqrt(sum.jobsError) / float64(throws)
	return sum
}

// throwJobs draws the jobs that come.
func throwJobs(p stock.Problem, rng *rand.Rand) []job {
	var all []job
	add := func(typ, window int) {
		j := job{typ, window, make([]int, len(p.Items)), make([]bool, len(p.Items))}
		for _, l := range p.Types[typ].Lines {
			if rng.Float64() >= l.Need {
				continue
			}
			u := rng.Float64()
			for _, s := range l.Sizes {
				if u -= s.Prob; u < 0 {
					j.takes[l.Item] += s.Qty
					j.waits[l.Item] = j.waits[l.Item] || l.Critical && s.Qty > 0
					break
				}
			}
		}
		all = append(all, j)
	}
	for _, event := range p.Events {
		u := rng.Float64()
		for _, o := range event {
			if u -= o.Prob; u < 0 {
				add(o.Type, o.Window)
				for _, then := range o.Then {
					add(then.Type, then.Window)
				}
				break
			}
		}
	}
	for _, s := range p.Streams {
		rate := 1.0
		if s.Shape > 0 {
			rate = distuv.Gamma{Alpha: s.Shape, Beta: s.Shape, Src: rng}.Rand()
		}
		for w, mean := range s.Means {
			if rate*mean > 0 {
				for range int(distuv.Poisson{Lambda: rate * mean, Src: rng}.Rand()) {
					add(s.Type, w)
				}
			}
		}
	}
	return all
}
