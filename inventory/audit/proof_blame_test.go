package audit

import (
	"slices"
	"testing"

	"circlip/inventory"
)

// verdict is what an audit says of an overuse, so many counts after it began.
type verdict struct {
	episode, blamed, service bool
	off                      int // weeks between its true and its stated beginning
}

func (w invented) judge(t *testing.T, at target, over overuse, after int) (v verdict) {
	item := audited(t, w.live(story{weeks: quietWeeks + after, over: over}), at.item)
	if n := len(item.Episodes); n > 0 && item.Episodes[n-1].Direction == High {
		v.episode, v.off = true, item.Episodes[n-1].Start-quietWeeks
	}
	if b := item.Blame; b != nil {
		v.blamed = true
		v.service = b.By == ByService && b.Code == at.service
	}
	return v
}

func TestTheServiceToBlameIsNamed(t *testing.T) {
	tests := []struct {
		rule  string
		share float64
		after int
		goal  float64
	}{
		{"a quarter of the fluid's use or more, after 26 counts", .25, 26, .8},
		{"a quarter or more, after 13", .25, 13, 0},
		{"a quarter or more, after 6", .25, 6, 0},
		{"any service, after 26", 0, 26, 0},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			var right, episodes, within1, within3 rate
			byCards := map[string]*rate{}
			for _, seed := range seeds(t, 80) {
				w := invent(seed)
				at := w.draw(test.share)
				over := w.overuses(at, quietWeeks)
				v := w.judge(t, at, over, test.after)
				right.add(v.service)
				episodes.add(v.episode)
				if v.episode {
					within1.add(-1 <= v.off && v.off <= 1)
					within3.add(-3 <= v.off && v.off <= 3)
				}
				kind := w.cards(over)
				if byCards[kind] == nil {
					byCards[kind] = &rate{}
				}
				byCards[kind].add(v.service)
			}
			t.Logf("rightly named in %d of %d; an episode in %d; its beginning within a week in %d, within three in %d", right.so, right.of, episodes.so, within1.so, within3.so)
			for kind, r := range byCards {
				t.Logf("  %s: %d of %d", kind, r.so, r.of)
			}
			if right.share() < test.goal || within3.share() < test.goal {
				t.Errorf("named rightly in a share of %.3f and dated within three weeks in %.3f, expected %g or more", right.share(), within3.share(), test.goal)
			}
		})
	}
}

// What a job took whose card was forgotten is unrecorded, and tells nothing of
// an overuse.
func TestAForgottenCardIsNoOveruse(t *testing.T) {
	week := []Period{{From: firstOfMarch, To: firstOfMarch + 7, Opening: 5_000, Closing: 3_000, Recorded: 1_000, Standard: 2_000}}
	job := taking{on: firstOfMarch + 1, service: "damper", standard: 100}
	carded := job
	carded.onCard, carded.recorded = true, 100
	item := inventory.Item{Code: "oil", Measure: inventory.Millilitre}
	got := newPanel(week, item, []taking{job, carded}).spans[0]
	if got.unrecorded != 100 || got.offCards != 0 {
		t.Errorf("found %g ml unrecorded and %g ml off the cards, expected 100 and 0", got.unrecorded, got.offCards)
	}
}

func (w invented) cards(o overuse) string {
	switch {
	case !w.measured:
		return "cards repeat the bill"
	case o.onCard:
		return "measured, and the overuse is on the card"
	}
	return "measured, and the overuse is not on the card"
}

func TestAPersonsOveruseIsTheirs(t *testing.T) {
	var right rate
	said := map[By]int{}
	for _, seed := range seeds(t, 60) {
		w := invent(seed)
		at := w.draw(.25)
		over := overuse{item: at.item, person: people[1], factor: 1.2, from: quietWeeks, onCard: seed/2%2 == 0}
		item := audited(t, w.live(story{weeks: quietWeeks + 26, over: over}), at.item)
		right.add(item.Blame != nil && item.Blame.By == ByPerson && item.Blame.Code == people[1])
		said[blamedBy(item)]++
	}
	t.Logf("a fifth too much by one who does a third of the jobs: rightly named in %d of %d; blamed: %v", right.so, right.of, said)
	if right.share() < .5 {
		t.Errorf("named rightly in a share of %.3f, expected half or more", right.share())
	}
}

func blamedBy(item ItemAudit) By {
	if item.Blame == nil {
		return "nobody"
	}
	return item.Blame.By
}

func TestALeakIsNoServices(t *testing.T) {
	var found rate
	said := map[By]int{}
	for _, seed := range seeds(t, 60) {
		w := invent(seed)
		at := w.draw(.25)
		weekly := w.fluids[slices.IndexFunc(w.fluids, func(f fluid) bool { return f.Code == at.item })].weekly
		item := audited(t, w.live(story{weeks: quietWeeks + 26, leak: leak{at.item, .1 * weekly, quietWeeks}}), at.item)
		found.add(signalled(item.Marks[quietWeeks:min(len(item.Marks), quietWeeks+6)], High))
		said[blamedBy(item)]++
	}
	t.Logf("a leak of a tenth of the fluid's use: found within 6 counts in %d of %d; blamed: %v", found.so, found.of, said)
	if found.share() < .9 {
		t.Errorf("found in a share of %.3f, expected 0.9 or more", found.share())
	}
}

// An accepted change of the bill is a new line from the Saturday on.
func TestAnAcceptedChangeSilencesTheCharts(t *testing.T) {
	const settled, after = quietWeeks + 26, 26
	var offered, loud, before rate
	for _, seed := range seeds(t, 60) {
		w := invent(seed)
		at := w.draw(.25)
		past := story{weeks: settled, over: w.overuses(at, quietWeeks)}
		changes := audited(t, w.live(past), at.item).Changes
		ours := slices.ContainsFunc(changes, func(c Change) bool { return c.Line.Service == at.service })
		offered.add(ours)
		if !ours {
			continue
		}
		past.weeks += after
		for _, m := range audited(t, w.live(past), at.item).Marks[settled:] {
			before.add(m.Signal == High)
		}
		for _, c := range changes {
			line := c.Line
			line.Qty = c.Qty
			past.bill = append(past.bill, billed{settled, line})
		}
		for _, m := range audited(t, w.live(past), at.item).Marks[settled:] {
			loud.add(m.Signal != "")
		}
	}
	t.Logf("a change of the service's line is offered in %d of %d; after it signals in %d of %d periods, without it %d of %d", offered.so, offered.of, loud.so, loud.of, before.so, before.of)
	if offered.share() < .5 {
		t.Errorf("a change is offered in a share of %.3f, expected half or more", offered.share())
	}
	if loud.share() >= 1./50 {
		t.Errorf("signals in a share of %.4f of the periods after it, expected less than 1 in 50", loud.share())
	}
}

// The truth of a service is its share of the bill, a tenth more for the one
// that takes too much from the first week on.
func TestIntervalsHoldTheTruth(t *testing.T) {
	for _, weeks := range []int{8, 26, 104} {
		var holds, known, knownHolds rate
		width, n := 0.0, 0
		for _, seed := range seeds(t, 60) {
			w := invent(seed)
			at := w.draw(.25)
			for _, e := range audited(t, w.live(story{weeks: weeks, over: w.overuses(at, 0)}), at.item).Services {
				truth := e.StandardPerJob
				if e.Code == at.service {
					truth *= tenPerCent
				}
				inside := e.Low <= truth && truth <= e.High
				holds.add(inside)
				known.add(e.Known)
				if e.Known {
					knownHolds.add(inside)
					width += (e.High - e.Low) / 2 / e.StandardPerJob
					n++
				}
			}
		}
		t.Logf("%d weeks: %.3f of %d intervals hold the truth, of the %d known %.3f, which are ± %.3f of the standard wide in the mean", weeks, holds.share(), holds.of, known.so, knownHolds.share(), width/float64(max(1, n)))
		if knownHolds.share() < .9 {
			t.Errorf("%d weeks: %.3f of the known intervals hold the truth, expected about 0.95, at least 0.9", weeks, knownHolds.share())
		}
	}
}
