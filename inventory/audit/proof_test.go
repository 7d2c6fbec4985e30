package audit

import (
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"

	"circlip/inventory"
)

// The proofs are rates over invented workshops. CIRCLIP_AUDIT_SEEDS makes as
// many of them as it says instead of some sixty, CIRCLIP_AUDIT_FIRST begins with
// another seed than 0: with workshops on which nothing was chosen.
const (
	quietWeeks = 26
	tenPerCent = 1.10
)

func seeds(t *testing.T, usual int) (list []uint64) {
	t.Helper()
	first := asked(t, "CIRCLIP_AUDIT_FIRST", 0)
	for s := range asked(t, "CIRCLIP_AUDIT_SEEDS", usual) {
		list = append(list, uint64(first+s))
	}
	return list
}

// asked is what the environment says, or what is usual.
func asked(t *testing.T, name string, usual int) int {
	t.Helper()
	text := os.Getenv(name)
	if text == "" {
		return usual
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return n
}

// rate counts how often something was so.
type rate struct{ so, of int }

func (r *rate) add(so bool) {
	r.of++
	if so {
		r.so++
	}
}

func (r rate) share() float64 { return float64(r.so) / float64(max(1, r.of)) }

// target is a service and a fluid it takes, with its share of the fluid's use.
type target struct {
	service, item string
	share         float64
}

// targets are those of at least a share, in the order of the bill.
func (w invented) targets(least float64) (all []target) {
	for _, s := range w.shop.Services {
		for _, f := range w.fluids {
			if share := w.share(s.Code, f.Code); share >= least && share > 0 {
				all = append(all, target{s.Code, f.Code, share})
			}
		}
	}
	return all
}

// draw is one of them.
func (w invented) draw(least float64) target {
	all := w.targets(least)
	return all[rand.New(rand.NewPCG(w.seed, 3)).IntN(len(all))]
}

// overuses is a tenth too much from a week on. By the seed, cards that hold
// what was measured show it or do not.
func (w invented) overuses(t target, from int) overuse {
	return overuse{item: t.item, service: t.service, factor: tenPerCent, from: from, onCard: w.seed/2%2 == 0}
}

// audited is one item of a shop.
func audited(t *testing.T, shop inventory.Shop, item string) ItemAudit {
	t.Helper()
	shop.Items = slices.DeleteFunc(slices.Clone(shop.Items), func(i inventory.Item) bool { return i.Code != item })
	items := Of(shop, Fluids).Items
	if len(items) != 1 {
		t.Fatalf("%s, %s: found %d audited items, expected 1", shop.Settings.Workshop, item, len(items))
	}
	return items[0]
}

// charted is as much of an audit as its charts and findings need.
func charted(shop inventory.Shop, item string) ItemAudit {
	i := slices.IndexFunc(shop.Items, func(i inventory.Item) bool { return i.Code == item })
	a := ItemAudit{Item: shop.Items[i], Periods: gather(shop, Fluids).periods(shop.Items[i])}
	a.Marks = marks(a.Periods, a.Item.Measure)
	return a
}

func signalled(marks []Mark, direction Signal) bool {
	return slices.ContainsFunc(marks, func(m Mark) bool { return m.Signal == direction })
}

func TestAQuietWorkshopHasFewerThanOneFalseSignalInFiftyPeriods(t *testing.T) {
	var perFluid, perWorkshop, guessed rate
	for _, seed := range seeds(t, 60) {
		weeks := make([]bool, 52)
		for _, item := range Of(invent(seed).live(story{weeks: 52}), Fluids).Items {
			for i, m := range item.Marks {
				perFluid.add(m.Signal != "")
				weeks[i] = weeks[i] || m.Signal != ""
				guessed.add(m.Z > 2 || m.Z < -2)
			}
		}
		for _, any := range weeks {
			perWorkshop.add(any)
		}
	}
	t.Logf("false signals: %d in %d periods of one fluid, in %d of %d weeks of a workshop of 4 or 5 fluids; excess beyond 2 sigma: %.4f", perFluid.so, perFluid.of, perWorkshop.so, perWorkshop.of, guessed.share())
	if perFluid.share() >= 1./50 || perWorkshop.share() >= 1./50 {
		t.Errorf("false signals in a share of %.4f of a fluid's periods and of %.4f of a workshop's weeks, expected less than 1 in 50", perFluid.share(), perWorkshop.share())
	}
}
