package reports

import (
	"strings"
	"testing"

	"circlip/forecast/learn"
	"circlip/forecast/series"
	"circlip/inventory"
	"circlip/reports/lessons"
	"circlip/reports/plan"
)

// sentence holds a text to the parts that it must have, and to those that it
// must not.
type sentence struct {
	name, words string
	has, hasNot []string
}

func hold(t *testing.T, sentences []sentence) {
	t.Helper()
	for _, s := range sentences {
		t.Run(s.name, func(t *testing.T) {
			for _, part := range s.has {
				if !strings.Contains(s.words, part) {
					t.Errorf("%q lacks %q", s.words, part)
				}
			}
			for _, part := range s.hasNot {
				if strings.Contains(s.words, part) {
					t.Errorf("%q has %q", s.words, part)
				}
			}
			if strings.Contains(s.words, "%!") || strings.Contains(s.words, "NaN") || !strings.HasSuffix(s.words, ".") {
				t.Errorf("%q is no sentence", s.words)
			}
		})
	}
}

func TestEachBasisIsToldInItsOwnWords(t *testing.T) {
	hold(t, []sentence{
		{"nothing seen", basisWords(learn.FromBook, "3 seen"), []string{"nothing was seen", "book's figure stands"}, []string{"3 seen"}},
		{"too few", basisWords(learn.TooFew, "3 seen"), []string{"3 seen, too few to leave the book's figure"}, []string{"family"}},
		{"borrowed", basisWords(learn.Borrowed, "3 seen"), []string{"3 seen", "mostly the figure of its family"}, []string{"book's"}},
		{"learnt", basisWords(learn.Learnt, "90 seen"), []string{"90 seen", "together with the book's figure"}, []string{"too few"}},
	})
}

func TestSharesAreToldWithTheirCounts(t *testing.T) {
	hold(t, []sentence{
		{"nothing seen", shareWords(learn.Share{PriorMean: 0.95, PriorWeight: 20}, "jobs", "came"), []string{"nothing was seen"}, []string{"0 of 0"}},
		{"seen", shareWords(learn.Share{PriorMean: 0.95, PriorWeight: 20, Yes: 40, No: 6}, "jobs", "came"), []string{"40 of 46 jobs came", "95.0 %", "like 20 more"}, nil},
	})
}

func TestWaitsAreToldByTheirBasis(t *testing.T) {
	hold(t, []sentence{
		{"nothing seen", waitWords(learn.Waited{Lag: 3}), []string{"nothing was seen"}, nil},
		{"too few", waitWords(learn.Waited{Lag: 3, Waits: 1, Mean: 2, Basis: learn.TooFew}), []string{"1 wait was seen, of 2.0 weeks", "too few"}, []string{"allowed for"}},
		{"learnt", waitWords(learn.Waited{Lag: 3, Waits: 41, Mean: 2.5, Basis: learn.Learnt}), []string{"41 waits were seen, of 2.5 weeks", "allowed for"}, nil},
	})
}

func TestDeliveriesAreToldByTheirBasis(t *testing.T) {
	late := func(n, days int) learn.Lead {
		var receipts []learn.Receipt
		for range n {
			receipts = append(receipts, learn.Receipt{Quoted: 4, Took: 4 + days})
		}
		return learn.LeadOf(4, receipts)
	}
	before := learn.LeadOf(4, []learn.Receipt{{Quoted: 4, Took: 5}, {Quoted: 4, Took: -2}})
	hold(t, []sentence{
		{"none came", leadWords(late(0, 0)), []string{"nothing was seen"}, []string{"Half"}},
		// Ten more on time: 5 days late five times are 25 of 15.
		{"few came", leadWords(late(5, 5)), []string{"5 deliveries were seen", "1.7 days after the quoted day", "too few"}, nil},
		{"many came late", leadWords(late(30, 4)), []string{"30 deliveries were seen", "3.0 days after", "Half come within 8 days"}, []string{"too few"}},
		{"many came early", leadWords(late(30, -2)), []string{"1.5 days before the quoted day"}, []string{"after the quoted"}},
		{"one came before its order", leadWords(before), []string{"1 delivery was seen", "Left out: 1 that came before the order was placed"}, nil},
	})
}

func TestReturnsAreToldByTheirBasis(t *testing.T) {
	of := func(b learn.Basis) string { return returnWords(learn.Renewal{Gaps: 12, Back: 5, Own: 0.25, Basis: b}) }
	hold(t, []sentence{
		{"nothing seen", of(learn.FromBook), []string{"no unit without a meter had it yet", "common practice"}, []string{"12"}},
		{"too few", of(learn.TooFew), []string{"of 12 jobs", "5 came back", "decides 25.0 %, the rest is common practice"}, nil},
		{"borrowed", of(learn.Borrowed), []string{"decides 25.0 %", "that of its family"}, nil},
		{"learnt", of(learn.Learnt), []string{"decides 25.0 %", "may still come back"}, []string{"family"}},
	})
}

func TestHoursAWeekAreToldByWhatTheyRestOn(t *testing.T) {
	group := learn.Usage{Known: true, HoursPerWeek: 6, GroupMean: 6, GroupUnits: 1}
	own := learn.Usage{Known: true, HoursPerWeek: 5.2, OwnHours: 200, OwnWeeks: 40, OwnWeight: 0.8, GroupMean: 6, GroupUnits: 12, Increments: 9}
	odd := own
	odd.LeftOut[learn.Fall], odd.LeftOut[learn.Jump] = 2, 1
	hold(t, []sentence{
		{"nothing known", usageWords(learn.Usage{}, "group rental"), []string{"nothing is known", "Only the calendar"}, []string{"group rental"}},
		{"given", usageWords(learn.Usage{Known: true, Given: true, HoursPerWeek: 6}, "group rental"), []string{"the planner gave it"}, []string{"readings say"}},
		{"its group's", usageWords(group, "group rental"), []string{"no two readings of its own", "group rental, 6.0 h a week by the readings of 1 unit."}, nil},
		{"its own and its group's", usageWords(own, "group rental"), []string{"200 h in 40.0 season-weighted weeks, 5.0 h a week", "count for 80.0 %", "12 units"}, []string{"left out"}},
		{"readings left out", usageWords(odd, "group rental"), []string{"left out: 2 where the meter fell", "1 where it gained more hours than had passed"}, nil},
	})
}

func TestEveryReasonToLeaveOutAReadingHasWords(t *testing.T) {
	for reason := range len(learn.LeftOut{}) {
		var l learn.LeftOut
		l[reason] = 3
		if words := leftOutWords(l); !strings.Contains(words, ": 3 ") || strings.Contains(words, "%!") {
			t.Errorf("reason %d: %q", reason, words)
		}
	}
}

func TestLoyaltyIsToldByWhatTheUnitDid(t *testing.T) {
	hold(t, []sentence{
		{"never due", loyalWords(lessons.Loyal{Stays: 0.8, Comes: 0.6}), []string{"never due yet", "like the others of its kind", "80.0 %"}, []string{"0 times"}},
		{"seen", loyalWords(lessons.Loyal{Here: 4, Between: 1, Since: 2, Stays: 0.5, Comes: 0.9}), []string{"came 4 times", "elsewhere 1 time in between", "2 times since"}, nil},
	})
}

func TestHabitsAreToldByHowMuchWasSeen(t *testing.T) {
	of := func(h lessons.Habit) string {
		b := explainer{lessons: &lessons.Lessons{Habits: map[inventory.Holder]lessons.Habit{inventory.Fleet: h}}}
		return b.habitWords(inventory.Fleet)
	}
	hold(t, []sentence{
		{"nothing seen", of(lessons.Habit{}), []string{"nothing was seen"}, nil},
		{"too few", of(lessons.Habit{Here: 1}), []string{"1 service came due: 1 done here", "too few"}, nil},
		{"learnt", of(lessons.Habit{Here: 40, Elsewhere: 8, Learnt: true}), []string{"48 services came due: 40 done here, 8", "unit of the fleet"}, []string{"too few"}},
	})
}

func TestSeasonsAreToldByTheirSource(t *testing.T) {
	of := func(l lessons.Lessons) string { return explainer{lessons: &l}.seasonWords() }
	hold(t, []sentence{
		{"none, learning", of(lessons.Lessons{On: true}), []string{"every week counts alike", "less than a year"}, nil},
		{"none, not learning", of(lessons.Lessons{}), []string{"every week counts alike"}, []string{"readings"}},
		{"the book's", of(lessons.Lessons{Seasons: lessons.FromBook}), []string{"the book's table"}, nil},
		{"learnt", of(lessons.Lessons{Seasons: lessons.FromReadings, Riding: learn.SeasonEvidence{Units: 7, Increments: 90, Days: 30, Weeks: 44}}), []string{"90 times", "7 units", "44 weeks"}, nil},
	})
}

func TestBookingCurvesAreToldByTheirBasis(t *testing.T) {
	many := make([]int, 40)
	for i := range many {
		many[i] = 20
	}
	hold(t, []sentence{
		{"none", aheadWords(learn.AheadOf(nil)), []string{"no such job was seen"}, nil},
		{"few", aheadWords(learn.AheadOf([]int{3, 4})), []string{"of 2 jobs", "Few were seen"}, nil},
		// 40 of 45 with the five booked on their day.
		{"many", aheadWords(learn.AheadOf(many)), []string{"of 40 jobs", "88.8 % more than 2 weeks", "0.0 % more than 4"}, []string{"Few"}},
	})
}

func TestWalkInsAreToldWithTheMethodAndEachScore(t *testing.T) {
	law := series.Law{
		Method: series.CrostonNB, Basis: series.Own, Periods: 104, Total: 31, Origins: 24,
		Scores: []series.Scored{
			{Method: series.GammaPoisson, Memory: 1, RPS: 0.31}, {Method: series.GammaPoisson, Memory: 0.9, RPS: 0.29},
			{Method: series.CrostonNB, RPS: 0.25},
		},
	}
	short := series.Law{Method: series.GammaPoisson, Basis: series.Borrowed, Periods: 6, Total: 1, Scores: []series.Scored{{Method: series.GammaPoisson}}}
	hold(t, []sentence{
		{"judged", walkInWords(lessons.WalkIn{Law: law}), []string{
			"31 counted in 104 weeks", "its own past", "The method is Croston", "24 points", "gamma-Poisson 0.2900, Croston 0.2500.",
		}, []string{"0.31"}},
		{"too short to judge", walkInWords(lessons.WalkIn{Law: short}), []string{"1 counted in 6 weeks", "mostly the family's", "too short to judge"}, nil},
	})
}

func TestClocksSayWhatIsReadAndWhatReckoned(t *testing.T) {
	day := inventory.NewDate(2026, 6, 15)
	hold(t, []sentence{
		{"read today", clockWords(plan.Clock{Hours: 20, HoursToday: 20, DoneOn: day - 30}, day), []string{"as the meter said on 2026-06-15"}, []string{"reckoned"}},
		{"read before", clockWords(plan.Clock{Hours: 20, HoursToday: 31, DoneOn: day - 30}, day-10), []string{"the meter said 20.0 h on 2026-06-05", "reckoned"}, nil},
		{"done since it was read", clockWords(plan.Clock{HoursToday: 3, DoneOn: day - 3}, day-10), []string{"counted from 2026-06-12", "read before that, on 2026-06-05"}, nil},
	})
}
