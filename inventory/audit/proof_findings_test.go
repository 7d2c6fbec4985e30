package audit

import (
	"circlip/inventory"
	"slices"
	"testing"
)

// explanation is the finding that a trouble should have.
func explanation(t trouble) []FindingKind {
	return map[trouble][]FindingKind{
		countsMissing: {CountsMissed},
		packFound:     {Whole, Negative},
		packMissing:   {Whole},
		bookedAfter:   {BookedLate},
		tareWrong:     {TareChanged, TareUnlike},
		inGrams:       {GramsAsML},
	}[t]
}

func has(p Period, kinds []FindingKind) bool {
	return slices.ContainsFunc(p.Findings, func(f Finding) bool { return slices.Contains(kinds, f.Kind) })
}

// A trouble matters where it moves the excess by six of its sigmas or more;
// missing counts always do. The finding that explains it must be the first.
func TestTroublesAreExplained(t *testing.T) {
	const at = 30
	for _, what := range []trouble{countsMissing, packFound, packMissing, bookedAfter, tareWrong, inGrams} {
		t.Run(string(what), func(t *testing.T) {
			var explained, first, small rate
			for _, seed := range seeds(t, 60) {
				w := invent(seed)
				f := w.fluids[int(seed)%len(w.fluids)]
				if what == inGrams && f.Measure == inventory.Gram {
					f = w.fluids[0]
				}
				quiet := charted(w.live(story{weeks: at + 4}), f.Code)
				item := charted(w.live(story{weeks: at + 4, trouble: what, at: at, item: f.Code}), f.Code)
				moved := item.Item.Measure.Number(item.Periods[at].Excess()-quiet.Periods[at].Excess()) / quiet.Marks[at].Sigma
				told := has(item.Periods[at], explanation(what))
				if what != countsMissing && -6 < moved && moved < 6 {
					small.add(told)
					continue
				}
				explained.add(told)
				first.add(told && slices.Contains(explanation(what), item.Periods[at].Findings[0].Kind))
			}
			t.Logf("explained in %d of %d that matter, first of all in %d; in %d of %d that are small", explained.so, explained.of, first.so, small.so, small.of)
			if explained.of == 0 || explained.share() < .95 {
				t.Errorf("explained in a share of %.3f, expected 0.95 or more", explained.share())
			}
		})
	}
}

func TestQuietPeriodsAreNotExplainedAway(t *testing.T) {
	explaining := []FindingKind{BookedLate, Whole, GramsAsML, MLAsGrams, Unexplained, Negative, TareChanged, TareUnlike, CountsMissed}
	var explained, joined, out rate
	for _, seed := range seeds(t, 60) {
		for _, item := range Of(invent(seed).live(story{weeks: 52}), Fluids).Items {
			for _, p := range item.Periods {
				explained.add(has(p, explaining))
				joined.add(p.Joined)
				out.add(p.LeftOut)
			}
		}
	}
	t.Logf("of %d quiet periods %d have a finding that explains, %d are joined, %d left out", explained.of, explained.so, joined.so, out.so)
	if explained.share() > .01 {
		t.Errorf("a finding in a share of %.4f, expected 0.01 or less", explained.share())
	}
}
