package reports

import (
	"math"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/testdata/golden/plans"
)

// damper is a fluid counted eight weeks running, quiet, at EUR 20 a litre.
func damper() audit.ItemAudit {
	of := audit.ItemAudit{Item: inventory.Item{Code: "O", Name: "Damper oil", Kind: inventory.Oil, Measure: inventory.Millilitre}, Cost: 20_000}
	for week := range 8 {
		of.Periods = append(of.Periods, audit.Period{Item: "O", From: plans.AsOf - inventory.Date(56-7*week), To: plans.AsOf - inventory.Date(49-7*week), Opening: 2000, Closing: 1000, Standard: 1000, Recorded: 1000, Jobs: 4})
		of.Marks = append(of.Marks, audit.Mark{Sigma: 20})
	}
	return of
}

// since is an episode of the latest so many periods in which all that is more
// stands on no card.
func since(of *audit.ItemAudit, periods int, perWeek float64) {
	start := len(of.Periods) - periods
	e := audit.Episode{Direction: audit.High, Start: start, First: start, Last: 7, End: 7, Began: of.Periods[start].From + 1, Open: true, PerWeek: perWeek, Money: 4_00}
	if perWeek < 0 {
		e.Direction = audit.Low
	}
	of.Episodes = []audit.Episode{e}
	for i := start; i < len(of.Periods); i++ {
		of.Periods[i].Closing -= inventory.Quantity(perWeek * 10)
	}
}

func TestOneSentenceTellsWhatAnAuditComesTo(t *testing.T) {
	rows := []struct {
		rule  string
		shape func(*audit.ItemAudit)
		want  string
	}{
		{"nothing to see, and what would have been seen", func(*audit.ItemAudit) {},
			"Damper oil: what left is within what chance explains; a steady loss of about SEEN ml a week would be seen within 6 counts."},
		{"few periods are said to be few", func(of *audit.ItemAudit) { of.Periods, of.Marks = of.Periods[7:], of.Marks[7:] },
			"Damper oil: 1 period so far, within what chance explains; a steady loss of about SEEN ml a week would be seen within 6 counts."},
		{"more leaves: how much, since when, how long, what it is worth, on no card", func(of *audit.ItemAudit) { since(of, 5, 40) },
			"Damper oil: about 40 ml a week more leaves the bottle than the bill of materials allows, since the week of 25 January (5 weeks, EUR 4.00): most of it on no job card."},
		{"no price, no money", func(of *audit.ItemAudit) { since(of, 1, 40); of.Cost = 0 },
			"Damper oil: about 40 ml a week more leaves the bottle than the bill of materials allows, since the week of 22 February (1 week): most of it on no job card."},
		{"all of it on the cards", func(of *audit.ItemAudit) {
			since(of, 5, 40)
			for i := 3; i < 8; i++ {
				of.Periods[i].Recorded += 400
			}
		}, "Damper oil: about 40 ml a week more leaves the bottle than the bill of materials allows, since the week of 25 January (5 weeks, EUR 4.00): most of it on the job cards, beyond the bill."},
		{"half of it on the cards", func(of *audit.ItemAudit) {
			since(of, 5, 40)
			for i := 3; i < 8; i++ {
				of.Periods[i].Recorded += 200
			}
		}, "Damper oil: about 40 ml a week more leaves the bottle than the bill of materials allows, since the week of 25 January (5 weeks, EUR 4.00): in part on the job cards, in part on none."},
		{"less leaves", func(of *audit.ItemAudit) { since(of, 5, -40) },
			"Damper oil: about 40 ml a week less leaves the bottle than the bill of materials allows, since the week of 25 January (5 weeks, EUR 4.00): the job cards do not show it."},
		{"a loss that is over", func(of *audit.ItemAudit) {
			since(of, 5, 40)
			of.Episodes[0].Open, of.Episodes[0].End = false, 5
		}, "Damper oil: from the week of 25 January until 15 February about 40 ml a week more left the bottle than the bill of materials allows (EUR 4.00); since then nothing beyond what chance explains."},
		{"one count alone, without a reason", func(of *audit.ItemAudit) { since(of, 1, 500); of.Episodes[0].Once = true },
			"Damper oil: 500.0 ml more had left at the count of Mon 1 Mar alone than the bill of materials allows."},
		{"one count alone, with what fits it", func(of *audit.ItemAudit) {
			since(of, 1, 500)
			of.Episodes[0].Once = true
			of.Periods[7].Findings = []audit.Finding{{Kind: audit.NoTemp, N: 1}, {Kind: audit.Whole, N: 1, Qty: 5000}, {Kind: audit.Negative, Qty: -5000}}
		}, "Damper oil: 500.0 ml more had left at the count of Mon 1 Mar alone: fits a whole container that is missing, 500.0 ml."},
		{"one count alone while something leaks", func(of *audit.ItemAudit) {
			since(of, 5, 40)
			of.Episodes = append(of.Episodes, audit.Episode{Direction: audit.High, Start: 7, First: 7, Last: 7, End: 7, Open: true, Once: true})
			of.Periods[7].Closing -= 5000
		}, "Damper oil: about 40 ml a week more leaves the bottle than the bill of materials allows, since the week of 25 January (5 weeks, EUR 4.00): most of it on no job card. Besides, 540.0 ml more had left at the count of Mon 1 Mar alone than the bill of materials allows."},
		{"nobody has counted since", func(of *audit.ItemAudit) {
			for i := range of.Periods {
				of.Periods[i].From, of.Periods[i].To = of.Periods[i].From-84, of.Periods[i].To-84
			}
		}, "Damper oil: what left is within what chance explains; a steady loss of about SEEN ml a week would be seen within 6 counts. It was last counted on 7 December 2026."},
		{"a count that was off before is excepted", func(of *audit.ItemAudit) {
			of.Episodes = []audit.Episode{{Direction: audit.High, Start: 2, First: 2, Last: 2, End: 2, Once: true}}
		}, "Damper oil: what left is within what chance explains but for the count of 25 January; a steady loss of about SEEN ml a week would be seen within 6 counts."},
		{"one odd count parts two periods", func(of *audit.ItemAudit) {
			of.Periods[2].Joined = true
			of.Episodes = []audit.Episode{{Direction: audit.High, Start: 2, First: 2, Last: 2, End: 2, Once: true}, {Direction: audit.Low, Start: 3, First: 3, Last: 3, End: 3, Once: true}}
		}, "Damper oil: what left is within what chance explains but for the count of 25 January; a steady loss of about SEEN ml a week would be seen within 6 counts."},
		{"several counts that were off are counted, after what is over", func(of *audit.ItemAudit) {
			since(of, 7, 40)
			of.Episodes[0].Open, of.Episodes[0].End = false, 2
			of.Episodes = append(of.Episodes, audit.Episode{Start: 1, End: 1, Once: true}, audit.Episode{Start: 4, End: 4, Once: true}, audit.Episode{Start: 6, End: 6, Once: true})
		}, "Damper oil: from the week of 11 January until 25 January about 40 ml a week more left the bottle than the bill of materials allows (EUR 4.00); since then nothing beyond what chance explains but for 2 counts, the latest of 22 February."},
		{"a count that was off while something leaks is no part of it", func(of *audit.ItemAudit) {
			since(of, 5, 40)
			of.Episodes = append(of.Episodes, audit.Episode{Start: 1, End: 1, Once: true}, audit.Episode{Start: 5, End: 5, Once: true})
		}, "Damper oil: about 40 ml a week more leaves the bottle than the bill of materials allows, since the week of 25 January (5 weeks but for the count of 15 February, EUR 4.00): most of it on no job card."},
		{"another unit for some counts", func(of *audit.ItemAudit) {
			since(of, 5, -40)
			for i := 5; i < 8; i++ {
				of.Periods[i].Findings = []audit.Finding{{Kind: audit.GramsAsML, On: of.Periods[i].To, N: 1, Qty: -400}}
			}
		}, "Damper oil: about 40 ml a week less leaves the bottle than the bill of materials allows, since the week of 25 January (5 weeks, EUR 4.00): the job cards do not show it. The latest count fits grams written down as ml in the count of 2027-03-01, which makes 40.0 ml; likewise at 2 counts before."},
		{"another tare at the latest count", func(of *audit.ItemAudit) {
			since(of, 1, 50)
			of.Episodes[0].Once = true
			of.Periods[7].Findings = []audit.Finding{{Kind: audit.TareChanged, Ref: "jug", N: 1, Qty: 450}}
		}, "Damper oil: 50.0 ml more had left at the count of Mon 1 Mar alone: the container jug was weighed with another tare than in the count before, which makes 45.0 ml."},
		{"what may explain a count that is not beyond the charts", func(of *audit.ItemAudit) {
			of.Periods[7].Findings = []audit.Finding{{Kind: audit.Negative, Qty: -50}}
		}, "Damper oil: what left is within what chance explains; a steady loss of about SEEN ml a week would be seen within 6 counts. At the latest count 5.0 ml more was found than can have been there; look for a delivery that is not booked in, or a container that an earlier count missed."},
		{"a run that began after the count of a Friday began in the week that follows", func(of *audit.ItemAudit) {
			for i := range of.Periods {
				of.Periods[i].From, of.Periods[i].To = of.Periods[i].From-3, of.Periods[i].To-3
			}
			since(of, 5, 40)
		}, "Damper oil: about 40 ml a week more leaves the bottle than the bill of materials allows, since the week of 25 January (5 weeks, EUR 4.00): most of it on no job card."},
		{"seals are taken, by the piece", func(of *audit.ItemAudit) {
			of.Item = inventory.Item{Code: "S", Name: "Seal", Measure: inventory.Each}
			since(of, 5, 3)
		}, "Seal: about 3 pieces a week more are taken from the shelf than the bill of materials allows, since the week of 25 January (5 weeks, EUR 4.00): most of it on no job card."},
		{"of few pieces one says every how many weeks", func(of *audit.ItemAudit) {
			of.Item = inventory.Item{Code: "S", Name: "Seal", Measure: inventory.Each}
			since(of, 5, 0.25)
		}, "Seal: about one piece more every 4 weeks is taken from the shelf than the bill of materials allows, since the week of 25 January (5 weeks, EUR 4.00): most of it on no job card."},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			of := damper()
			r.shape(&of)
			a := audit.Audit{AsOf: plans.AsOf, Currency: euro, Items: []audit.ItemAudit{of}}
			want := strings.ReplaceAll(r.want, "SEEN", roughly(20*shiftSeen())) // counted weekly, with sigma 20 ml
			if got := oilSentence(a, of); got != want {
				t.Errorf("found    %q,\nexpected %q", got, want)
			}
		})
	}
}

func TestWhatExplainsItBestIsNamedWithItsOdds(t *testing.T) {
	rows := []struct {
		rule  string
		blame audit.Blame
		want  string
	}{
		{"a service by its name", audit.Blame{By: audit.ByService, Code: "damper", Prob: 0.82}, "Damper service explains it best (82 in 100)"},
		{"a service without a name", audit.Blame{By: audit.ByService, Code: "D-1", Prob: 0.82}, "the service D-1 explains it best (82 in 100)"},
		{"a model", audit.Blame{By: audit.ByModel, Code: "F-36", Prob: 0.6}, "work on Fork 36 explains it best (60 in 100)"},
		{"nothing is certain", audit.Blame{By: audit.ByModel, Code: "F-36", Prob: 0.9999}, "work on Fork 36 explains it best (more than 99 in 100)"},
		{"two that go together, both", audit.Blame{By: audit.ByService, Code: "damper", Prob: 0.5, RunUp: "lower", RunProb: 0.4}, "Damper service and the service lower, which the counts cannot tell apart, explain it best (90 in 100)"},
		{"two that go together, and yet one is clear of the other", audit.Blame{By: audit.ByService, Code: "damper", Prob: 0.7, RunUp: "lower", RunProb: 0.01}, "Damper service explains it best (70 in 100)"},
		{"one of them and another by itself", audit.Blame{By: audit.ByService, Code: "damper", Prob: 0.6, RunUp: "D-1", RunProb: 0.4}, "Damper service explains it best (60 in 100)"},
		{"nothing is likely by itself", audit.Blame{By: audit.ByService, Code: "damper", Prob: 0.4}, "Damper service comes first, and no one thing explains it well (40 in 100)"},
		{"the same whatever is done", audit.Blame{By: audit.ByNone, Prob: 0.7}, "it is the same amount a week whatever jobs are done (70 in 100)"},
		{"the same whatever is done, though nothing is likely by itself", audit.Blame{By: audit.ByNone, Prob: 0.4}, "no one thing explains it well; first comes the same amount a week whatever jobs are done (40 in 100)"},
		{"every job alike", audit.Blame{By: audit.ByAll, Prob: 0.9, Extra: 1.5}, "all jobs alike take more than the bill says (90 in 100)"},
		{"every job alike, though nothing is likely by itself", audit.Blame{By: audit.ByAll, Prob: 0.4, Extra: 1.5}, "no one thing explains it well; first come all jobs alike (40 in 100)"},
		{"of a person who is not likely no amount is said", audit.Blame{By: audit.ByPerson, Code: "Mira", Prob: 0.4, Extra: 12.34}, "no one thing explains it well; first come the jobs of Mira (40 in 100), which is no proof"},
		{"a person: an amount and no reason", audit.Blame{By: audit.ByPerson, Code: "Mira", Prob: 0.7, Extra: 12.34}, "the jobs of Mira took about 12 ml each more than the bill (70 in 100); that says how much, not why"},
		{"a person with less", audit.Blame{By: audit.ByPerson, Code: "Mira", Prob: 0.7, Extra: -12.34}, "the jobs of Mira took about 12 ml each less than the bill (70 in 100); that says how much, not why"},
	}
	a := audit.Audit{
		Services: []inventory.Service{{Code: "damper", Name: "Damper service"}, {Code: "D-1"}},
		Models:   []inventory.Model{{Code: "F-36", Name: "Fork 36"}},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			of := damper()
			of.Alike = []audit.Alike{{By: audit.ByService, A: "lower", B: "damper"}}
			if got := blamed(a, of, r.blame); got != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
			since(&of, 5, 40)
			of.Blame = &r.blame
			if next := runnerUp(a, of); (next != "") != (r.blame.RunUp == "D-1") {
				t.Errorf("found %q behind it", next)
			}
		})
	}
}

// Whoever is named is named with an amount: no sentence says why.
func TestNoSentenceAccusesAnybody(t *testing.T) {
	of := damper()
	since(&of, 5, 40)
	of.Blame = &audit.Blame{By: audit.ByPerson, Code: "Mira", Prob: 0.99, Extra: 9}
	of.People = []audit.Estimate{{Code: "Mira", Jobs: 9, StandardPerJob: 30, PerJob: 41, Low: 35, High: 48, Known: true}}
	a := audit.Audit{AsOf: plans.AsOf, Currency: euro, Items: []audit.ItemAudit{of}}
	text := strings.Join(strings.Fields(textOf(t, OilSheets(a)...)), " ")
	if strings.Count(text, "not why") < 2 {
		t.Errorf("expected both the sentence and the sheet to say how much, not why:\n%s", text)
	}
	for _, word := range []string{"stole", "theft", "fault", "guilty", "careless", "wasteful", "blame", "culprit"} {
		if strings.Contains(strings.ToLower(text), word) {
			t.Errorf("found the word %q in:\n%s", word, text)
		}
	}
}

func TestThePageSaysWhereTheOilWent(t *testing.T) {
	oil := inventory.Item{Code: "O", Name: "Damper oil", Measure: inventory.Millilitre}
	begin := "Damper oil, Fri 19 Feb to Mon 1 Mar: "
	rows := []struct {
		rule                        string
		closing, recorded, standard inventory.Quantity
		jobs                        int
		want                        string
	}{
		{"all of it on the cards, as the bill allows", 500, 1000, 1000, 4, "100.0 ml left the shelf, all of it on job cards."},
		{"some on no card", 500, 850, 850, 4, "100.0 ml left the shelf, 15.0 ml of it on no job card."},
		{"more on the cards than left the shelf", 500, 1100, 1100, 4, "100.0 ml left the shelf, 10.0 ml less than the job cards say."},
		{"cards above the standard", 500, 1000, 900, 4, "100.0 ml left the shelf, all of it on job cards; the cards of 4 jobs took 10.0 ml more than the standard."},
		{"cards below the standard, of one job", 500, 1000, 1005, 1, "100.0 ml left the shelf, all of it on job cards; the cards of 1 job took 0.5 ml less than the standard."},
		{"more was there than before", 1600, 1000, 1000, 4, "10.0 ml more was found than can have been there."},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			period := audit.Period{Item: "O", From: plans.AsOf - 10, To: plans.AsOf, Opening: 1500, Closing: r.closing, Recorded: r.recorded, Standard: r.standard, Jobs: r.jobs}
			a := audit.Audit{Items: []audit.ItemAudit{{Item: oil, Periods: []audit.Period{period}}}}
			if got := oilSentences(a); len(got) != 1 || got[0] != begin+r.want {
				t.Errorf("found %q, expected %q", got, begin+r.want)
			}
		})
	}
}

func TestThePageTellsSignalsFirstThenTheLatestPeriodsMostMissingFirst(t *testing.T) {
	var a audit.Audit
	for _, code := range []string{"A", "B"} {
		of := audit.ItemAudit{Item: inventory.Item{Code: code, Measure: inventory.Gram}}
		for period := range 3 {
			missing := inventory.Quantity(100 * (period + 1))
			if code == "B" {
				missing *= 2
			}
			of.Periods = append(of.Periods, audit.Period{Item: code, From: plans.AsOf + inventory.Date(period), To: plans.AsOf + inventory.Date(period+1), Opening: missing})
		}
		a.Items = append(a.Items, of)
	}
	got := oilSentences(a)
	if len(got) != 2 || !strings.HasPrefix(got[0], "B, Wed 3 Mar to Thu 4 Mar: 60.0 g") || !strings.HasPrefix(got[1], "A, Wed 3 Mar to Thu 4 Mar: 30.0 g") {
		t.Errorf("found %q, expected the last period of B, then that of A", got)
	}
	signalling := damper()
	since(&signalling, 5, 40)
	a.Items = append(a.Items, signalling)
	if got = oilSentences(a); !strings.HasPrefix(got[0], "Damper oil: about 40 ml a week") {
		t.Errorf("found %q, expected what has a signal first", got)
	}
}

func TestAmountsAreSaidToTwoDigits(t *testing.T) {
	for x, want := range map[float64]string{0: "0", 1e-320: "0", 0.0456: "0.05", 0.456: "0.46", 1: "1", 1.26: "1.3", 9.96: "10", 45.7: "46", 123.4: "120", 99_600: "100,000"} {
		if got := roughly(x); got != want {
			t.Errorf("roughly(%v): found %q, expected %q", x, got, want)
		}
	}
}

// The charts signal what is said to be seen after so many counts, by their own
// run lengths.
func TestWhatIsSaidToBeSeenIsSeenInTime(t *testing.T) {
	if delay := audit.ChartLimits().Delay(shiftSeen()); math.Abs(delay-seenWithin) > 0.05 {
		t.Errorf("a shift of %.3f shows after %.2f periods, expected %d", shiftSeen(), delay, seenWithin)
	}
	quiet, loud := damper(), damper()
	for i := range loud.Periods {
		loud.Periods[i].Closing += inventory.Quantity(1000 * (i % 2)) // it spreads far more than is to be expected
	}
	if seenPerWeek(loud) < 2*seenPerWeek(quiet) {
		t.Errorf("found %.1f ml a week where periods differ much and %.1f where they do not, expected what they showed to count", seenPerWeek(loud), seenPerWeek(quiet))
	}
	twice := damper()
	for i := range twice.Periods {
		twice.Periods[i].From = twice.Periods[i].To - 14
	}
	if got, want := seenPerWeek(twice), seenPerWeek(quiet)/2; math.Abs(got-want) > 1e-9 {
		t.Errorf("counted every two weeks: found %.2f ml a week, expected %.2f", got, want)
	}
}
