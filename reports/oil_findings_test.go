package reports

import (
	"math"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/testdata/golden/plans"
)

func TestEveryFindingIsAPlainSentence(t *testing.T) {
	oil := inventory.Item{Code: "O", Measure: inventory.Millilitre}
	rows := []struct {
		finding audit.Finding
		want    string
	}{
		{audit.Finding{Kind: audit.BookedLate, On: plans.AsOf + 4, Ref: "ORD-12", N: 1, Qty: -10000}, "fits the delivery ORD-12 of 1,000.0 ml booked in on 2027-03-05, after the count"},
		{audit.Finding{Kind: audit.BookedLate, On: plans.AsOf + 4, Ref: "ORD-12", N: 1, Qty: 10000}, "fits the delivery ORD-12 of 1,000.0 ml booked in on 2027-03-05: it stood on the shelf at the count before already"},
		{audit.Finding{Kind: audit.BookedLate, On: plans.AsOf + 4, Qty: -10000}, "fits the delivery of 1,000.0 ml booked in on 2027-03-05, after the count"},
		{audit.Finding{Kind: audit.BookedLate, Ref: "ORD-12", N: 1, Qty: -10000}, "fits the delivery ORD-12 of 1,000.0 ml, which is not booked in yet"},
		{audit.Finding{Kind: audit.Whole, N: 2, Qty: -20000}, "fits 2 whole containers that were found, 2,000.0 ml in all"},
		{audit.Finding{Kind: audit.Whole, N: 1, Qty: 10000}, "fits a whole container that is missing, 1,000.0 ml"},
		{audit.Finding{Kind: audit.GramsAsML, On: plans.AsOf, N: 1, Qty: 1280}, "fits grams written down as ml in the count of 2027-03-01, which makes 128.0 ml"},
		{audit.Finding{Kind: audit.MLAsGrams, On: plans.AsOf, N: 1, Qty: -1280}, "fits ml written down as grams in the count of 2027-03-01, which makes 128.0 ml"},
		{audit.Finding{Kind: audit.Miscounted, On: plans.AsOf, Qty: 500}, "fits a slip of 50.0 ml in the count of 2027-03-01, which goes with neither the one before nor the one after"},
		{audit.Finding{Kind: audit.Unexplained, Qty: 500}, "50.0 ml more left than jobs explain, and nothing on record fits; look for a bottle that was overlooked or spilt, and weigh the empty bottles again: another tare looks like this"},
		{audit.Finding{Kind: audit.Unexplained, Qty: -500}, "50.0 ml less left than jobs explain, and nothing on record fits; look for a delivery or a bottle that nobody wrote down, and weigh the empty bottles again: another tare looks like this"},
		{audit.Finding{Kind: audit.Negative, Qty: -300}, "30.0 ml more was found than can have been there; look for a delivery that is not booked in, or a container that an earlier count missed"},
		{audit.Finding{Kind: audit.TareChanged, Ref: "can-2", Qty: -250}, "the container can-2 was weighed with another tare than in the count before, which makes 25.0 ml"},
		{audit.Finding{Kind: audit.TareUnlike, Ref: "can-2", Qty: 250}, "the container can-2 was weighed with a tare that is not its known one, which makes 25.0 ml"},
		{audit.Finding{Kind: audit.CountsMissed, N: 1}, "1 count of the usual rhythm is missing: the difference is that of the whole time"},
		{audit.Finding{Kind: audit.CountsMissed, N: 3}, "3 counts of the usual rhythm are missing: the difference is that of the whole time"},
		{audit.Finding{Kind: audit.TwoWays}, "one of its counts was weighed, the other measured: the two ways may differ"},
		{audit.Finding{Kind: audit.NoTemp, On: plans.AsOf, N: 2}, "2 containers were weighed on 2027-03-01 without a temperature: taken as 15 °C, which the spread allows for"},
		{audit.Finding{Kind: audit.NoCards, N: 3, Qty: -5520}, "3 jobs certain to take it have none of it on the card, and the 552.0 ml that the bill allows them did not leave the shelf"},
		{audit.Finding{Kind: audit.NoCards, N: 1}, "1 job certain to take it has none of it on the card"},
		{audit.Finding{Kind: audit.Opened, On: plans.AsOf - 400, Ref: "can-1", Qty: 420}, "the container can-1, opened on 2026-01-25, is past what it keeps opened: it held 42.0 ml"},
	}
	told := map[audit.FindingKind]bool{}
	for _, r := range rows {
		told[r.finding.Kind] = true
		t.Run(r.want, func(t *testing.T) {
			if got := findingText(r.finding, oil); got != r.want {
				t.Errorf("found    %q,\nexpected %q", got, r.want)
			}
		})
	}
	for _, kind := range []audit.FindingKind{
		audit.BookedLate, audit.Whole, audit.GramsAsML, audit.MLAsGrams, audit.Miscounted, audit.TareChanged, audit.Unexplained, audit.Negative,
		audit.TareUnlike, audit.CountsMissed, audit.TwoWays, audit.NoTemp, audit.NoCards, audit.Opened,
	} {
		if !told[kind] {
			t.Errorf("no sentence is approved for %q", kind)
		}
	}
}

// What a habit brings to every count is told once; what may explain a period is
// told wherever it is found.
func TestAHabitIsToldOnce(t *testing.T) {
	of := damper()
	for i := range of.Periods {
		of.Periods[i].Findings = []audit.Finding{{Kind: audit.NoTemp, On: of.Periods[i].To, N: 1}}
	}
	of.Periods[3].Findings = append(of.Periods[3].Findings, audit.Finding{Kind: audit.Whole, N: 1, Qty: 10000})
	of.Periods[4].Findings = append(of.Periods[4].Findings, audit.Finding{Kind: audit.Whole, N: 1, Qty: -10000}, audit.Finding{Kind: audit.Opened, Ref: "jug", On: 20000, Qty: 420})
	s := OilFindings(audit.Audit{AsOf: plans.AsOf, Items: []audit.ItemAudit{of}})
	var told []string
	for _, r := range withoutRepeats(s).Rows {
		told = append(told, r.Cells[s.column("Finding")].String())
	}
	want := []string{
		"fits a whole container that is missing, 1,000.0 ml",
		"fits a whole container that was found, 1,000.0 ml",
		"the container jug, opened on 2024-10-04, is past what it keeps opened: it held 42.0 ml",
		"1 container was weighed on 2027-03-01 without a temperature: taken as 15 °C, which the spread allows for; likewise at 7 counts before",
	}
	if strings.Join(told, "\n") != strings.Join(want, "\n") || len(s.Rows) != 11 {
		t.Errorf("found\n%s\nexpected\n%s", strings.Join(told, "\n"), strings.Join(want, "\n"))
	}
}

// A count that was off by itself says nothing of how much more leaves a week.
func TestWhatOneCountWasOffByIsNoRate(t *testing.T) {
	of := damper()
	for i := range of.Periods {
		of.Periods[i].Closing -= 100
	}
	of.Periods[2].Closing += 8000
	of.Episodes = []audit.Episode{{Direction: audit.Low, Start: 2, First: 2, Last: 2, End: 2, Once: true}}
	if got := perWeek(of); math.Abs(got-10) > 1e-9 {
		t.Errorf("found %.2f ml a week, expected 10", got)
	}
}

// A finding explains; it takes nothing off any figure.
func TestFindingsChangeNoFigure(t *testing.T) {
	with, without := plans.Audit(), plans.Audit()
	for i := range without.Items {
		for j := range without.Items[i].Periods {
			without.Items[i].Periods[j].Findings = nil
		}
	}
	a, b := OilPeriods(with), OilPeriods(without)
	if len(OilFindings(with).Rows) == 0 {
		t.Fatal("expected findings to take away")
	}
	for i := range a.Rows {
		for j := range a.Columns {
			if got, want := a.Rows[i].Cells[j].String(), b.Rows[i].Cells[j].String(); got != want {
				t.Errorf("row %d, %s: found %s with findings, %s without", i, a.Columns[j].Name, got, want)
			}
		}
	}
}

func TestWhatAnEstimateSaysOfTheBill(t *testing.T) {
	rows := []struct {
		rule     string
		estimate audit.Estimate
		alike    []audit.Alike
		periods  int
		want     string
	}{
		{"the whole interval above", audit.Estimate{Code: "A", StandardPerJob: 40, Low: 41, High: 50, Known: true}, nil, 9, "more than the bill"},
		{"the whole interval below", audit.Estimate{Code: "A", StandardPerJob: 40, Low: 31, High: 39, Known: true}, nil, 9, "less than the bill"},
		{"the interval holds the bill's figure", audit.Estimate{Code: "A", StandardPerJob: 40, Low: 36, High: 45, Known: true}, nil, 9, "as the bill says"},
		{"not known says nothing of the bill, however far off", audit.Estimate{Code: "A", StandardPerJob: 40, Low: 60, High: 90}, nil, 9, "not told yet: the interval is too wide"},
		{"few counts", audit.Estimate{Code: "A"}, nil, 3, "not told yet: too few counts"},
		{"it goes with another", audit.Estimate{Code: "A"}, []audit.Alike{{By: audit.ByService, A: "B", B: "A"}}, 9, "not told yet: goes with B"},
		{"that of a model is no reason for a service", audit.Estimate{Code: "A"}, []audit.Alike{{By: audit.ByModel, A: "B", B: "A"}}, 9, "not told yet: the interval is too wide"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			of := audit.ItemAudit{Alike: r.alike, Periods: make([]audit.Period, r.periods)}
			if got := estimateSays(audit.Audit{}, of, audit.ByService, r.estimate); got != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
		})
	}
}

func TestTheCommandThatTakesAChangeOver(t *testing.T) {
	oil := inventory.Item{Code: "OIL-5", Measure: inventory.Millilitre}
	line := func(service, model string) inventory.BOMLine {
		return inventory.BOMLine{Service: service, Model: model}
	}
	rows := []struct {
		rule string
		line inventory.BOMLine
		want string
	}{
		{"for every model", line("damper", inventory.AnyModel), "circlip book revise damper OIL-5 47.6 --from 2027-03-01"},
		{"for one model", line("damper", "F-36"), "circlip book revise damper OIL-5 47.6 --model F-36 --from 2027-03-01"},
		{"a code that a shell would read otherwise", line("full service", "F'36;rm"), `circlip book revise 'full service' OIL-5 47.6 --model 'F'\''36;rm' --from 2027-03-01`},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			if got := reviseCommand(audit.Audit{AsOf: plans.AsOf}, oil, audit.Change{Line: r.line, Qty: 476}); got != r.want {
				t.Errorf("found %s, expected %s", got, r.want)
			}
		})
	}
}

func TestTheSummaryBeginsWithWhatLosesMost(t *testing.T) {
	a := audit.Audit{AsOf: plans.AsOf, Currency: euro}
	for _, r := range []struct {
		code    string
		perWeek float64
		money   inventory.Money
	}{{"quiet", 0, 0}, {"low", -40, -9_00}, {"some", 40, 4_00}, {"still", 0, 0}, {"most", 60, 8_00}} {
		of := damper()
		of.Item.Code, of.Item.Name = r.code, ""
		if r.money != 0 {
			since(&of, 5, r.perWeek)
			of.Episodes[0].Money = r.money
		}
		a.Items = append(a.Items, of)
	}
	s := OilSummary(a)
	var order, said []string
	for i, r := range s.Rows {
		order = append(order, r.Cells[0].String())
		name, _, _ := strings.Cut(s.Notes[i], ":")
		said = append(said, name)
	}
	const want = "most some low quiet still"
	if strings.Join(order, " ") != want || strings.Join(said, " ") != want {
		t.Errorf("found the rows %v under the sentences %v, expected %s", order, said, want)
	}
	year, since := s.column("A year"), s.column("Since")
	if got := s.Rows[0].Cells[year].String(); got != "62.61" { // 60 ml a week, 52.18 weeks, EUR 0.02 a ml
		t.Errorf("found %s a year, expected 62.61", got)
	}
	if !s.Rows[3].Cells[year].Blank() || !s.Rows[3].Cells[since].Blank() {
		t.Error("expected no money a year and no day where there is no signal")
	}
}

func TestPiecesThatNothingExplainsAreNotWeighed(t *testing.T) {
	wiper := inventory.Item{Code: "WIP", Measure: inventory.Each}
	for qty, want := range map[inventory.Quantity]string{
		9:  "9 ea more left than jobs explain, and nothing on record fits; look for some that lie elsewhere, or went without a card",
		-9: "9 ea less left than jobs explain, and nothing on record fits; look for a delivery that nobody wrote down",
	} {
		if got := findingText(audit.Finding{Kind: audit.Unexplained, Qty: qty}, wiper); got != want {
			t.Errorf("found    %q,\nexpected %q", got, want)
		}
	}
}
