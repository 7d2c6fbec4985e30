package audit

import "testing"

// A tenth too much in one of a fluid's larger services is the goal; smaller
// ones are held to less, since a tenth of little drowns in the other jobs.
func TestATenthTooMuchIsFoundWithinSixCounts(t *testing.T) {
	tests := []struct {
		rule  string
		share float64
		from  int
		goal  float64
	}{
		{"a service of a quarter of the fluid's use or more, after 26 quiet weeks", .25, quietWeeks, .9},
		{"the same from the first week", .25, 0, .9},
		{"any service that takes the fluid, after 26 quiet weeks", 0, quietWeeks, .5},
		{"any service that takes the fluid, from the first week", 0, 0, .6},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			var found rate
			for _, seed := range seeds(t, 100) {
				w := invent(seed)
				at := w.draw(test.share)
				item := charted(w.live(story{weeks: test.from + 6, over: w.overuses(at, test.from)}), at.item)
				found.add(signalled(item.Marks[test.from:], High))
			}
			t.Logf("found in %d of %d workshops", found.so, found.of)
			if found.share() < test.goal {
				t.Errorf("found in a share of %.3f, expected %g or more", found.share(), test.goal)
			}
		})
	}
}
