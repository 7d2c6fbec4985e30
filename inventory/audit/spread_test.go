package audit

import (
	"math"
	"math/rand/v2"
	"testing"

	"circlip/inventory"
)

func celsius(t float64) *float64 { return &t }

// inBottles is an account of an oil of 870 kg/m³ that comes in litres, on a scale
// of whole grams and by marks of 10 ml.
func inBottles() *account {
	return &account{
		item:     inventory.Item{Code: "oil", Measure: inventory.Millilitre, DensityKgM3: 870},
		settings: inventory.Settings{ScaleStepG: 1, MarkStepML: 10},
		packs:    []inventory.Quantity{10_000},
		parts:    map[inventory.Date][]inventory.CountPart{},
	}
}

func weighed(container string, tareG, tempC float64, qty inventory.Quantity) inventory.CountPart {
	return inventory.CountPart{Container: container, Qty: qty, Weighed: &inventory.Weighing{GrossG: tareG + 1, TareG: tareG, TempC: celsius(tempC)}}
}

func TestCountsAreAsGoodAsTheyWereTaken(t *testing.T) {
	const read = 1.3212       // (1000/870)² ml² of one gram at 15 °C
	const warm = 0.6278 / 870 // a share of the volume, Table 54D at 15 °C
	unsure := weighed("A", 100, 15, 5_000)
	unsure.Weighed.TempC = nil
	tests := []struct {
		rule             string
		opening, closing []inventory.CountPart
		want             float64 // variance in ml²
	}{
		{"what is read off marks is uniform about them, twice", []inventory.CountPart{{Qty: 5_001}}, []inventory.CountPart{{Qty: 3_001}}, 2 * 100.0 / 12},
		{"sealed bottles and an empty shelf are exact", []inventory.CountPart{{Qty: 30_000}}, []inventory.CountPart{{Qty: 0}}, 0},
		{"a sealed bottle adds nothing to an open one", []inventory.CountPart{{Qty: 5_001}, {Qty: 10_000}}, []inventory.CountPart{{Qty: 0}}, 100.0 / 12},
		{"two containers have four roundings", []inventory.CountPart{weighed("A", 100, 15, 10)}, []inventory.CountPart{weighed("B", 100, 15, 10)}, 4 * read / 12},
		{"of one container the tare falls out", []inventory.CountPart{weighed("A", 100, 15, 10)}, []inventory.CountPart{weighed("A", 100, 15, 10)}, 2 * read / 12},
		{"but not where it was taken anew", []inventory.CountPart{weighed("A", 100, 15, 10)}, []inventory.CountPart{weighed("A", 101, 15, 10)}, 4 * read / 12},
		{"nor of containers without a name", []inventory.CountPart{weighed("", 100, 15, 10)}, []inventory.CountPart{weighed("", 100, 15, 10)}, 4 * read / 12},
		{"without a temperature 500 ml may be 4 °C more or less", []inventory.CountPart{unsure}, []inventory.CountPart{{Qty: 0}}, 2*read/12 + math.Pow(500*warm*4, 2)},
		{"two parts are warm together", []inventory.CountPart{unsure, unsure}, []inventory.CountPart{{Qty: 0}}, 4*read/12 + math.Pow(1000*warm*4, 2)},
		{"what stayed grew with 10 °C", []inventory.CountPart{weighed("A", 100, 15, 40_000)}, []inventory.CountPart{weighed("A", 100, 25, 30_000)},
			2*read/12 + math.Pow(4000*warm*0.5, 2) + math.Pow(3000*warm*0.5, 2) + math.Pow(3000*warm*10, 2)},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			a := inBottles()
			a.parts[1], a.parts[8] = test.opening, test.closing
			got := a.countVariance(inventory.Count{Date: 1}, inventory.Count{Date: 8})
			if math.Abs(got-test.want) > 0.02*test.want {
				t.Errorf("found a variance of %.4g ml², expected %.4g", got, test.want)
			}
		})
	}
	t.Run("grease by the gram has the scale's step, pieces none", func(t *testing.T) {
		a := inBottles()
		a.item.Measure = inventory.Gram
		if got := a.countVariance(inventory.Count{Date: 1, Qty: 33}, inventory.Count{Date: 8, Qty: 22}); math.Abs(got-2.0/12) > 1e-12 {
			t.Errorf("found %g g², expected twice 1/12", got)
		}
		a.item.Measure = inventory.Each
		if got := a.countVariance(inventory.Count{Date: 1, Qty: 33}, inventory.Count{Date: 8, Qty: 22}); got != 0 {
			t.Errorf("found %g for pieces, expected 0", got)
		}
	})
}

// What two weighings say was drawn strays from the truth as much as the period
// says: two bottles on a scale of whole grams, their tares found on the same
// scale long ago, a thermometer that is out by half a degree.
func TestDrawnStraysAsStated(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 1))
	const runs = 4000
	tests := []struct {
		rule     string
		stepG    float64
		thermoSD float64
		recorded bool
		names    [2]string // of the closing's containers; the opening's are A and B
	}{
		{"the same two bottles", 5, thermometerC, true, [2]string{"A", "B"}},
		{"one of them another", 5, thermometerC, true, [2]string{"A", "C"}},
		{"without a thermometer", 5, roomC, false, [2]string{"A", "B"}},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			var squares, stated float64
			for range runs {
				a := inBottles()
				a.settings.ScaleStepG = test.stepG
				tares := map[string]float64{}
				for _, name := range []string{"A", "B", "C"} {
					tares[name] = 60 + 200*random.Float64()
				}
				onScale := func(grams float64) float64 { return math.Round(grams/test.stepG) * test.stepG }
				count := func(day inventory.Date, names [2]string) (truth, told float64) {
					trueC := inventory.ReferenceC + test.thermoSD*random.NormFloat64()
					for i, name := range names {
						ml := 200 + 700*random.Float64()
						gross := tares[name] + ml*0.870*inventory.VolumeCorrection(870, trueC)
						w := inventory.Weighing{GrossG: onScale(gross), TareG: onScale(tares[name])}
						if test.recorded {
							w.TempC = celsius(inventory.ReferenceC)
						}
						q, err := w.Quantity(inventory.Millilitre, 870)
						if err != nil {
							t.Fatal(err)
						}
						truth, told = truth+ml, told+inventory.Millilitre.Number(q)
						a.parts[day] = append(a.parts[day], inventory.CountPart{Container: name, Number: i + 1, Qty: q, Weighed: &w})
					}
					return truth, told
				}
				before, saidBefore := count(1, [2]string{"A", "B"})
				after, saidAfter := count(8, test.names)
				off := (saidBefore - saidAfter) - (before - after)
				squares += off * off / runs
				stated += a.countVariance(inventory.Count{Date: 1}, inventory.Count{Date: 8}) / runs
			}
			// The standard error of a variance of so many near-normal draws.
			if se := stated * math.Sqrt(2.0/runs); math.Abs(squares-stated) > 3*se {
				t.Errorf("drawn strays by %.3f ml² about the truth, stated are %.3f ± %.3f", squares, stated, se)
			}
		})
	}
}

// benchShop is a shop in which so many jobs took 80 ml each with their cards
// as card says, on one day after another, and two counts around them.
func benchShop(jobs int, line inventory.BOMLine, card func(i int) (qty inventory.Quantity, other bool)) inventory.Shop {
	line.Service, line.Model, line.Item = "lower", inventory.AnyModel, "oil"
	shop := inventory.Shop{
		Items:    []inventory.Item{{Code: "oil", Measure: inventory.Millilitre, DensityKgM3: 870}, {Code: "wiper", Measure: inventory.Each}},
		Models:   []inventory.Model{{Code: "fell", Family: "fork"}},
		Services: []inventory.Service{{Code: "lower", Family: "fork"}},
		BOM:      []inventory.BOMLine{line},
		Openings: []inventory.Count{{Item: "oil", Date: firstOfMarch, Qty: 1_000_000}},
	}
	for i := range jobs {
		code := "J" + string(rune('A'+i/26/26)) + string(rune('A'+i/26%26)) + string(rune('A'+i%26))
		shop.Jobs = append(shop.Jobs, inventory.Job{Code: code, Model: "fell", Services: []string{"lower"}, State: inventory.Done, DoneOn: firstOfMarch + 1 + inventory.Date(i)})
		qty, other := card(i)
		if other {
			shop.Uses = append(shop.Uses, inventory.JobUse{Job: code, Item: "wiper", Qty: 2})
		}
		if qty > 0 {
			shop.Uses = append(shop.Uses, inventory.JobUse{Job: code, Item: "oil", Qty: qty})
		}
	}
	shop.AsOf = firstOfMarch + inventory.Date(jobs)
	shop.Counts = []inventory.Count{{Item: "oil", Date: shop.AsOf, Qty: 500_000}}
	return shop
}

func TestHowMuchJobsVary(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 2))
	always := inventory.BOMLine{Qty: 800, Need: 1}
	copied := func(int) (inventory.Quantity, bool) { return 800, true }
	measured := func(cv, to float64) func(int) (inventory.Quantity, bool) {
		return func(int) (inventory.Quantity, bool) {
			return inventory.Quantity(math.Round(800*(1+cv*random.NormFloat64())/to) * to), true
		}
	}
	tests := []struct {
		rule        string
		jobs        int
		line        inventory.BOMLine
		card        func(int) (inventory.Quantity, bool)
		spread      float64 // a job, in ml
		within      float64
		cardSpread  float64 // a job, in ml
		cardsWithin float64
	}{
		{"without cards, a tenth of what the bill says", 100, always, func(int) (inventory.Quantity, bool) { return 0, false }, 8, 1e-9, 8, 1e-9},
		{"cards that copy the bill say nothing", 100, always, copied, 8, 1e-9, 8, 1e-9},
		{"if one in fifteen says something else, too", 100, always, func(i int) (inventory.Quantity, bool) {
			if i%15 == 0 {
				return 900, true
			}
			return copied(i)
		}, 8, 1e-9, 8, 1e-9},
		{"nor do cards that always say the same, whatever it is", 100, always, func(int) (inventory.Quantity, bool) { return 900, true }, 8, 1e-9, 8, 1e-9},
		{"where half are copied, the others tell, and half leave all of it open", 2000, always, func(i int) (inventory.Quantity, bool) {
			if i%2 == 0 {
				return copied(i)
			}
			return measured(0.05, 1)(i)
		}, 4, 0.25, 4 / math.Sqrt2, 0.25},
		{"twenty cards are worth as much as the guess: half of 5 % and of 10 %, squared", 20, always, func(i int) (inventory.Quantity, bool) {
			return inventory.Quantity(760 + 80*(i%2)), true
		}, 80 * math.Sqrt((0.05*0.05+0.1*0.1)/2), 1e-9, 2 / math.Sqrt(12), 1e-9},
		{"measured to 0.1 ml, they tell how much jobs vary", 2000, always, measured(0.05, 1), 4, 0.25, 0.1 / math.Sqrt(12), 1e-9},
		{"measured to 5 ml, reading them leaves that", 2000, always, measured(0.12, 50), 9.6, 0.6, 5 / math.Sqrt(12), 1e-9},
		{"a few cards hardly move it", 4, always, measured(0.5, 1), 8, 1e-9, 0.1 / math.Sqrt(12), 1e-9},
		{"taken by one job in four, a job varies by more than its amount", 100, inventory.BOMLine{Qty: 800, Need: 0.25}, copied,
			80 * math.Sqrt(0.25*0.75+0.25*0.01), 1e-9, 80 * math.Sqrt(0.25*0.75+0.25*0.01), 1e-9},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			p := periodsOf(benchShop(test.jobs, test.line, test.card))[0]
			n := math.Sqrt(float64(test.jobs))
			if got := p.JobSpread / n; math.Abs(got-test.spread) > test.within {
				t.Errorf("a job's spread is %.4g ml, expected %.4g", got, test.spread)
			}
			if got := p.CardSpread / n; math.Abs(got-test.cardSpread) > test.cardsWithin {
				t.Errorf("its card leaves %.4g ml open, expected %.4g", got, test.cardSpread)
			}
		})
	}
}

// In a workshop where one copies the bill and another measures, jobs vary as
// they do, and not as little as the cards.
func TestCardsThatSomeCopyCryNoWolf(t *testing.T) {
	for _, copied := range []float64{0.5, 0.8} {
		var falsely rate
		for seed := range uint64(15) {
			w := invent(seed)
			w.measured = true
			shop := w.live(story{weeks: 52})
			copySome(&shop, rand.New(rand.NewPCG(seed, 4)), copied)
			for _, item := range Of(shop, Fluids).Items {
				for _, m := range item.Marks {
					falsely.add(m.Signal != "")
				}
			}
		}
		if falsely.share() >= 1./50 {
			t.Errorf("with a share of %g of the jobs copied, %.3f of the periods signal falsely, expected less than 1 in 50", copied, falsely.share())
		}
	}
}

// copySome has a share of the jobs' cards say what the bill says.
func copySome(shop *inventory.Shop, random *rand.Rand, share float64) {
	bill, uses := inventory.NewBill(*shop), shop.Uses
	shop.Uses = nil
	for _, j := range shop.Jobs {
		n := 0
		for n < len(uses) && uses[n].Job == j.Code {
			n++
		}
		if copied := random.Float64() < share; !copied {
			shop.Uses = append(shop.Uses, uses[:n]...)
		} else if n > 0 {
			for _, l := range bill.Lines(j.Services, j.Model, j.DoneOn) {
				shop.Uses = append(shop.Uses, inventory.JobUse{Job: j.Code, Item: l.Item, Qty: l.PerJob(inventory.Millilitre)})
			}
		}
		uses = uses[n:]
	}
}

func TestSlipsOfThePenDoNotMakeJobsVary(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 3))
	p := periodsOf(benchShop(1000, inventory.BOMLine{Qty: 800, Need: 1}, func(i int) (inventory.Quantity, bool) {
		q := inventory.Quantity(800 + 40*random.NormFloat64())
		if i%20 == 0 {
			q *= 10 // a decimal point too far right
		}
		return q, true
	}))[0]
	if got := p.JobSpread / math.Sqrt(1000); got > 5.2 {
		t.Errorf("a job's spread is %.3g ml, expected about 4 as without the slips", got)
	}
}

func TestPiecesVaryByWasteAndNeed(t *testing.T) {
	shop := benchShop(100, inventory.BOMLine{}, func(int) (inventory.Quantity, bool) { return 0, true })
	shop.BOM[0] = inventory.BOMLine{Service: "lower", Model: inventory.AnyModel, Item: "wiper", Qty: 2, Need: 0.5, Waste: 0.1}
	shop.Openings = []inventory.Count{{Item: "wiper", Date: firstOfMarch, Qty: 500}}
	shop.Counts = []inventory.Count{{Item: "wiper", Date: shop.AsOf, Qty: 300}}
	p := Of(shop, Parts).Items[0].Periods[0]
	// Half the jobs take two, and one in five of these a third: with 2.2 on
	// average where any is taken, the variance is 0.5·0.2·0.8 + 0.5·0.5·2.2².
	if want := 10 * math.Sqrt(0.5*0.2*0.8+0.25*2.2*2.2); math.Abs(p.JobSpread-want) > 1e-9 {
		t.Errorf("spread %.4f pieces, expected %.4f", p.JobSpread, want)
	}
	if p.Standard != 110 || p.CountSpread != 0 {
		t.Errorf("standard %d and counts' spread %g, expected 110 pieces and 0", p.Standard, p.CountSpread)
	}
}
