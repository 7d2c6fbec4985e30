package audit

import (
	"math/rand/v2"
	"slices"
	"testing"

	"circlip/inventory"
)

// What cards tell is unsure by what they stray, which for a service that takes
// much is more than for one that takes little; and a period whose jobs all have
// cards is not as exact as they seem.
func TestIntervalsHoldTheTruthWhereCardsAreMeasured(t *testing.T) {
	tests := []struct {
		rule, item string
		missing    float64
	}{
		{"services that take very much and very little", "shock-oil", 0},
		{"three cards in ten are missing", "damper-oil", 0.3},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			var holds rate
			for _, seed := range seeds(t, 100) {
				w := invent(seed)
				if w.measured = true; !slices.ContainsFunc(w.shop.Items, func(i inventory.Item) bool { return i.Code == test.item }) {
					continue
				}
				shop := w.live(story{weeks: 52})
				loseCards(&shop, rand.New(rand.NewPCG(seed, 98)), test.missing)
				for _, e := range audited(t, shop, test.item).Services {
					holds.add(e.Low <= e.StandardPerJob && e.StandardPerJob <= e.High)
				}
			}
			t.Logf("%.3f of %d intervals hold the truth", holds.share(), holds.of)
			if holds.share() < .9 {
				t.Errorf("%.3f of the intervals hold the truth, expected about 0.95, at least 0.9", holds.share())
			}
		})
	}
}

// loseCards has a share of the jobs without a card.
func loseCards(shop *inventory.Shop, random *rand.Rand, share float64) {
	lost := map[string]bool{}
	for _, j := range shop.Jobs {
		lost[j.Code] = random.Float64() < share
	}
	shop.Uses = slices.DeleteFunc(shop.Uses, func(u inventory.JobUse) bool { return lost[u.Job] })
}
