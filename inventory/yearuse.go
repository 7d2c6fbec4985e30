package inventory

import "math"

// yearUse is what jobs took in the year before a day, by item and span of four
// weeks; the last span ends the day before it.
type yearUse struct {
	spans int // whole ones since the first job done, at most a year's
	took  map[string]*[spansAYear]float64
}

// yearOf adds up what the jobs done in the year before AsOf recorded, or of
// those with nothing recorded what their bill expects.
func yearOf(shop Shop) yearUse {
	use := yearUse{took: map[string]*[spansAYear]float64{}}
	bill := NewBill(shop)
	measures := map[string]Measure{}
	for _, i := range shop.Items {
		measures[i.Code] = i.Measure
	}
	recorded := map[string][]JobUse{}
	for _, u := range shop.Uses {
		recorded[u.Job] = append(recorded[u.Job], u)
	}
	for _, j := range shop.Jobs {
		days := int(shop.AsOf - j.EndedOn())
		if j.State != Done || days < 1 {
			continue
		}
		use.spans = max(use.spans, min(days/spanDays, spansAYear))
		ago := (days - 1) / spanDays
		if ago >= spansAYear {
			continue
		}
		for _, u := range recorded[j.Code] {
			use.add(u.Item, ago, float64(u.Qty))
		}
		if len(recorded[j.Code]) == 0 {
			for _, l := range bill.Lines(j.Services, j.Model, j.EndedOn()) {
				low, more := l.Sizes(measures[l.Item])
				use.add(l.Item, ago, l.Need*(float64(low)+more))
			}
		}
	}
	return use
}

func (u yearUse) add(item string, ago int, steps float64) {
	if u.took[item] == nil {
		u.took[item] = &[spansAYear]float64{}
	}
	u.took[item][ago] += steps
}

// of is the use of an item in the year, to the nearest step.
func (u yearUse) of(item string) Quantity {
	sum := 0.0
	if took := u.took[item]; took != nil {
		for _, steps := range took {
			sum += steps
		}
	}
	return Quantity(math.Round(sum))
}

// movement is the coefficient of variation of an item's use by span, and its
// class; no class where that cannot be told.
func (u yearUse) movement(item string) (float64, string) {
	took := u.took[item]
	if took == nil || u.spans < fewestSpans {
		return 0, ""
	}
	cv, known := variation(took[:u.spans])
	switch {
	case !known:
		return 0, ""
	case cv <= steadyUpTo:
		return cv, "X"
	case cv <= changingUpTo:
		return cv, "Y"
	}
	return cv, "Z"
}

// variation is the coefficient of variation of some figures: the population's
// standard deviation over the mean; not known where the mean is zero.
func variation(xs []float64) (float64, bool) {
	mean, squares := 0.0, 0.0
	for _, x := range xs {
		mean += x / float64(len(xs))
	}
	for _, x := range xs {
		squares += (x - mean) * (x - mean) / float64(len(xs))
	}
	if mean <= 0 {
		return 0, false
	}
	return math.Sqrt(squares) / mean, true
}
