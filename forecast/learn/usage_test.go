package learn

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"slices"
	"strconv"
	"testing"

	"circlip/forecast"

	"pgregory.net/rapid"
)

// tableOf reads a file of other people's numbers; its head names the source.
func tableOf(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../../testdata/published/theory/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	return rows[1:]
}

func numberIn(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func alike(t *testing.T, what string, found, expected, relative float64) {
	t.Helper()
	if !(math.Abs(found-expected) <= relative*math.Abs(expected)) {
		t.Errorf("%s: found %.12g, expected %.12g", what, found, expected)
	}
}

// claims is the Hachemeister data as records: ratio times volume for hours,
// volume for weeks.
func claims(t *testing.T, volume func(v float64) float64) (records []record, freedom int) {
	for _, row := range tableOf(t, "2h_hachemeister_data.csv") {
		var list []increment
		for k := range 12 {
			v := volume(numberIn(t, row[13+k]))
			list = append(list, increment{gain: v * numberIn(t, row[1+k]), weeks: v})
		}
		records = append(records, recordOf(list))
		freedom += len(list) - 1
	}
	return records, freedom
}

// Hachemeister's claims by R's actuar, printed in its vignette; see the head of
// the file.
func TestCredibilityAgainstPublishedValues(t *testing.T) {
	for model, volume := range map[string]func(float64) float64{
		"buhlmann":        func(float64) float64 { return 1 },
		"buhlmann_straub": func(v float64) float64 { return v },
	} {
		records, freedom := claims(t, volume)
		squares := 0.0
		for _, r := range records {
			squares += r.squares
		}
		within := squares / float64(freedom)
		moment, _, ok := betweenMoment(records, within)
		if !ok {
			t.Fatal("no variance between states")
		}
		mean, _ := collective(records, moment, within)
		p := pool{Group: Group{Mean: mean, Spread: forecast.Hours(within / mean)}}
		rows := 0
		for _, row := range tableOf(t, "2h_credibility_hachemeister.csv") {
			if row[0] != model {
				continue
			}
			rows++
			alike(t, model+" collective", mean, numberIn(t, row[1]), 1e-12)
			alike(t, model+" between", moment, numberIn(t, row[2]), 1e-12)
			alike(t, model+" within", within, numberIn(t, row[3]), 1e-12)
			r := records[int(numberIn(t, row[4]))-1]
			alike(t, model+" premium of state "+row[4], p.drawn(p.credibility(between{units: moment}, r), r), numberIn(t, row[5]), 1e-12)
		}
		if rows != 5 {
			t.Errorf("%s: found %d states, expected 5", model, rows)
		}
	}
}

// Ten pumps of Gaver & O'Muircheartaigh (1987): with a spread of 1 hour, hours
// are failures and the drawn rate is that of a gamma law seen through a Poisson
// count. Both laws are in the file's head.
func TestRatesAgainstPublishedPumps(t *testing.T) {
	laws := []struct{ shape, rate float64 }{{0.822268623, 1.25895442}, {1.5185098, 2.0519462}}
	for _, row := range tableOf(t, "2g_eb_pumps.csv") {
		r := record{hours: numberIn(t, row[1]), weeks: numberIn(t, row[2])}
		for k, law := range laws {
			b := between{units: law.shape / law.rate / law.rate}
			p := pool{Group: Group{Mean: law.shape / law.rate, Spread: 1}, laws: []between{b}}
			rate := p.drawn(p.credibility(b, r), r)
			alike(t, fmt.Sprintf("pump %s, law %d", row[0], k), rate, numberIn(t, row[4+k]), 1e-7)
			want := (law.shape + r.hours) / math.Pow(law.rate+r.weeks, 2)
			alike(t, "variance", p.variance([]float64{rate}, rate, r)*betweenLaws, want, 1e-9)
		}
	}
}

// steady is readings every so many days at a rate.
func steady(from, to, step int, perWeek float64) []Reading {
	var list []Reading
	for day := from; day <= to; day += step {
		list = append(list, Reading{forecast.Day(day), forecast.Hours(perWeek * float64(day-from) / 7)})
	}
	return list
}

// after appends readings that run on from hours shown on the last day.
func after(list []Reading, gap int, start forecast.Hours, more []Reading) []Reading {
	list = slices.Clone(list)
	last := list[len(list)-1].Day
	for _, r := range more {
		list = append(list, Reading{last + forecast.Day(gap) + r.Day, start + r.Hours})
	}
	return list
}

func everyMinute(days int) []Reading {
	var list []Reading
	for day := range days {
		for k := range 1000 {
			list = append(list, Reading{forecast.Day(day), forecast.Hours(float64(day) + float64(k)/1000)})
		}
	}
	return list
}

func TestDegeneratePasts(t *testing.T) {
	year, nine, nan := steady(0, 364, 7, 6), 9.0, math.NaN()
	type want struct {
		rate, within float64
		known        bool
		weeks        forecast.Weeks
		out          LeftOut
	}
	for _, row := range []struct {
		name   string
		meters []Meter // the first is asked for
		want   want
	}{
		{"no reading anywhere: nothing is known", []Meter{{}}, want{}},
		{"one reading: as its group", []Meter{{Readings: year[:1]}, {Readings: year}}, want{rate: 6, within: 1e-9, known: true}},
		{"a group without readings: as all groups", []Meter{{Group: 2}, {Group: 1, Readings: year}}, want{rate: 6, within: 1e-9, known: true}},
		{"a group of which only the planner speaks: as he says", []Meter{{Group: 2}, {Group: 2, Known: &nine}, {Readings: year}}, want{rate: 9, known: true}},
		{"the planner's figure stays", []Meter{{Known: &nine, Readings: year}}, want{rate: 9, known: true, weeks: 52}},
		{"a figure that is none is not taken", []Meter{{Known: &nan, Readings: year}}, want{rate: 6, within: 1e-9, known: true, weeks: 52}},
		{"all zeros: not ridden", []Meter{{Readings: steady(0, 364, 7, 0)}}, want{known: true, weeks: 52}},
		{"months without hours count", []Meter{{Readings: after(year, 182, 312, []Reading{{}})}}, want{rate: 4, within: 1e-9, known: true, weeks: 78}},
		{"a jump is left out", []Meter{{Readings: after(year, 7, 5000, year)}},
			want{rate: 6, within: 1e-9, known: true, weeks: 104, out: LeftOut{Jump: 1}}},
		{"168 hours in a week are no jump", []Meter{{Readings: steady(0, 70, 7, 168)}}, want{rate: 168, within: 1e-9, known: true, weeks: 10}},
		{"a fall is left out", []Meter{{Readings: after(year, 7, 0, year)}},
			want{rate: 6, within: 1e-9, known: true, weeks: 104, out: LeftOut{Fall: 1}}},
		{"hours that run on through a replaced meter count", []Meter{{Readings: after(year, 7, 318, year)}},
			want{rate: 6, within: 1e-9, known: true, weeks: 105}},
		{"a thousand readings a day are one", []Meter{{Readings: everyMinute(29)}},
			want{rate: 7, within: 1e-9, known: true, weeks: 4, out: LeftOut{SameDay: 29 * 999}}},
		{"two readings on one day: no time", []Meter{{Readings: []Reading{{0, 1}, {0, 3}}}, {Readings: year}},
			want{rate: 6, within: 1e-9, known: true, out: LeftOut{SameDay: 1}}},
		{"no numbers are left out", []Meter{{Readings: append([]Reading{{3, forecast.Hours(nan)}, {4, -1}, {5, forecast.Hours(math.Inf(1))}}, year...)}},
			want{rate: 6, within: 1e-9, known: true, weeks: 52, out: LeftOut{NoNumber: 3}}},
		{"what no meter counts is nothing", []Meter{{Readings: []Reading{{0, 0}, {225, 1e-306}}}}, want{known: true, weeks: 225.0 / 7}},
		{"readings in any order", []Meter{{Readings: append(slices.Clone(year[20:]), year[:20]...)}}, want{rate: 6, within: 1e-9, known: true, weeks: 52}},
	} {
		t.Run(row.name, func(t *testing.T) {
			usages, _ := Usages(row.meters, flat, Prior{})
			u := usages[0]
			if math.Abs(u.HoursPerWeek-row.want.rate) > row.want.within || u.Known != row.want.known ||
				math.Abs(float64(u.OwnWeeks-row.want.weeks)) > 1e-9 || u.LeftOut != row.want.out || !(u.Spread > 0) {
				t.Errorf("found %+v, expected %+v", u, row.want)
			}
		})
	}
}

func TestHoursRiddenOffSeasonAreLeftOut(t *testing.T) {
	none := func(from, to forecast.Day) forecast.Weeks { return 0 }
	usages, _ := Usages([]Meter{{Readings: steady(0, 28, 7, 5)}}, none, Prior{})
	if u := usages[0]; u.Known || u.LeftOut != (LeftOut{OffSeason: 1}) || !u.LeftOut.Any() {
		t.Errorf("found %+v, expected nothing known and one time left out", u)
	}
}

// What is read daily and what is read weekly is the same evidence.
func TestHowOftenAMeterIsReadDoesNotMatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	weekly := ride(rng, 6, 4, 40, flat)
	var daily []Reading
	for k, r := range weekly[:40] {
		for d := range 7 {
			part := forecast.Hours(d) / 7 * (weekly[k+1].Hours - r.Hours)
			daily = append(daily, Reading{r.Day + forecast.Day(d), r.Hours + part})
		}
	}
	daily = append(daily, weekly[40])
	a, _ := Usages([]Meter{{Readings: weekly}}, flat, Prior{})
	b, _ := Usages([]Meter{{Readings: daily}}, flat, Prior{})
	alike(t, "rate", b[0].HoursPerWeek, a[0].HoursPerWeek, 1e-12)
	alike(t, "sd", b[0].SD, a[0].SD, 1e-12)
	alike(t, "spread", float64(b[0].Spread), float64(a[0].Spread), 1e-12)
}

// Units that the planner gave say how evenly they are ridden, not how much the
// others are.
func TestGivenUnitsServeTheSpreadAlone(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	hundred := 100.0
	meters := []Meter{{Readings: ride(rng, 6, 2, 60, flat)}, {Readings: ride(rng, 8, 2, 60, flat)}}
	_, without := Usages(meters, flat, Prior{})
	_, with := Usages(append(meters, Meter{Known: &hundred, Readings: ride(rng, 90, 9, 60, flat)}), flat, Prior{})
	if g := with[0]; g.Units != 2 || g.Given != 1 || g.Increments != without[0].Increments+60 {
		t.Errorf("found %+v", g)
	}
	if with[0].Spread < without[0].Spread+1 {
		t.Errorf("spread %.2f with and %.2f without a unit of spread 9", with[0].Spread, without[0].Spread)
	}
	if math.Abs(with[0].Mean-7) > 1 {
		t.Errorf("mean %.2f, expected near 7", with[0].Mean)
	}
}

// The evidence shown must lead to the figure shown.
func TestTheFigureFollowsFromItsEvidence(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	var meters []Meter
	for k := range 12 {
		meters = append(meters, Meter{Group: k % 3, Readings: ride(rng, 3+float64(k), 4, 1+3*k, flat)})
	}
	usages, groups := Usages(meters, flat, Prior{})
	for k, u := range usages {
		own := float64(u.OwnHours) / float64(u.OwnWeeks)
		alike(t, fmt.Sprint("unit ", k), u.HoursPerWeek, u.GroupMean+u.OwnWeight*(own-u.GroupMean), 1e-12)
		low, high := u.Interval(0.8)
		if g := groups[k%3]; u.GroupMean != g.Mean || u.GroupUnits != 4 || g.ID != k%3 || !(0 < low && low < u.HoursPerWeek && u.HoursPerWeek < high) {
			t.Errorf("unit %d: found %+v of %+v", k, u, g)
		}
	}
	if !(usages[11].OwnWeight > usages[2].OwnWeight) {
		t.Errorf("weight %.2f of a year, %.2f of weeks", usages[11].OwnWeight, usages[2].OwnWeight)
	}
}

func drawMeters(t *rapid.T) []Meter {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Meter {
		m := Meter{Group: rapid.IntRange(-1, 2).Draw(t, "group")}
		for range rapid.IntRange(0, 12).Draw(t, "readings") {
			hours := rapid.OneOf(rapid.Float64Range(0, 300), rapid.Float64(), rapid.SampledFrom([]float64{0, 1e-300, math.NaN(), math.Inf(1)})).Draw(t, "hours")
			m.Readings = append(m.Readings, Reading{forecast.Day(rapid.IntRange(-100, 400).Draw(t, "day")), forecast.Hours(hours)})
		}
		if rapid.Bool().Draw(t, "given") {
			known := rapid.Float64().Draw(t, "known")
			m.Known = &known
		}
		return m
	}), 0, 8).Draw(t, "meters")
}

func wellFormed(values ...float64) bool {
	return !slices.ContainsFunc(values, func(v float64) bool { return !(v >= 0) || math.IsInf(v, 0) })
}

func TestWhateverTheMetersSayTheAnswerIsANumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		meters := drawMeters(t)
		before := fmt.Sprintf("%v", meters)
		usages, groups := Usages(meters, flat, Prior{})
		season, evidence := SeasonOf(meters, Prior{})
		if fmt.Sprintf("%v", meters) != before {
			t.Fatal("the meters were changed")
		}
		for _, u := range usages {
			low, high := u.Interval(0.9)
			if !wellFormed(u.HoursPerWeek, u.SD, float64(u.Spread), u.OwnWeight, u.GroupMean, low, high) || u.OwnWeight > 1 {
				t.Fatalf("found %+v", u)
			}
		}
		for _, g := range groups {
			low, high := g.SpreadInterval(0.9)
			if !wellFormed(g.Mean, g.MeanSD, g.Between, g.Freedom, float64(low), float64(high), g.OwnWeight) {
				t.Fatalf("found %+v", g)
			}
		}
		for week, f := range season {
			if !wellFormed(f, evidence.SD[week]) || f == 0 {
				t.Fatalf("week %d: found %v ± %v", week, f, evidence.SD[week])
			}
		}
	})
}

func TestTheOrderOfUnitsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		meters := drawMeters(t)
		order := rapid.Permutation(ordinals(len(meters))).Draw(t, "order")
		other := make([]Meter, len(meters))
		for k, i := range order {
			other[k] = meters[i]
		}
		a, ga := Usages(meters, flat, Prior{})
		b, gb := Usages(other, flat, Prior{})
		for k, i := range order {
			x, y := a[i], b[k]
			if math.Abs(x.HoursPerWeek-y.HoursPerWeek) > 1e-9*(x.HoursPerWeek+1e-9) || math.Abs(x.SD-y.SD) > 1e-6*(x.SD+1e-9) || x.LeftOut != y.LeftOut {
				t.Fatalf("found %+v and %+v", x, y)
			}
		}
		if len(ga) != len(gb) {
			t.Fatalf("found %d and %d groups", len(ga), len(gb))
		}
	})
}

func ordinals(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

func TestThePriorsUsualFiguresStandForWhatIsNone(t *testing.T) {
	want := Prior{Spread: 4, SpreadWeight: 20, Between: 0.5, BetweenWeight: 4}
	for _, p := range []Prior{{}, {Spread: -1, Between: math.NaN(), BetweenWeight: math.Inf(1)}, want} {
		if got := p.orUsual(); !reflect.DeepEqual(got, want) {
			t.Errorf("%+v: found %+v", p, got)
		}
	}
}
