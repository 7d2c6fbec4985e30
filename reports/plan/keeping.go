package plan

import (
	"circlip/forecast"
	"circlip/inventory"
)

// What ages must not be ordered in such amounts that some of it outlives its
// shelf life: an order brings no more than is used before it expires with a
// probability of keepWell. What is there and on order is used first.
const keepWell = 0.9

// keeping is how much of each item is used before what is ordered now expires.
type keeping struct {
	*buyer
	expires []inventory.Date     // by item: of what comes with the next order; zero: it does not age
	largest []inventory.Quantity // by item: what one job takes of it at most
	sure    []inventory.Quantity // by item: what booked jobs take for certain within its protection time
	used    map[int]usedUp       // by item, where it was looked at
}

// usedUp is what is used in time, or where that was not looked for to the end,
// less than that.
type usedUp struct {
	qty     inventory.Quantity
	atLeast bool
}

func (b *buyer) newKeeping(types *jobTypes) keeping {
	n := len(b.view.Items)
	a := keeping{b, make([]inventory.Date, n), make([]inventory.Quantity, n), b.view.sureUse(b.rhythms), map[int]usedUp{}}
	parts := map[string][]inventory.Item{}
	for _, k := range b.view.Kits {
		if at, known := b.view.itemAt[k.Item]; known {
			parts[k.Kit] = append(parts[k.Kit], b.view.Items[at])
		}
	}
	for i, item := range b.view.Items {
		// When it was made is not known before it comes: as if it were fresh.
		if life := inventory.LifeOf(item, parts[item.Code]); b.offered[i] && (life.ShelfMonths > 0 || life.Group.Years > 0) {
			a.expires[i] = life.Expires(0, inventory.Cure{}, b.source(i).soonest())
		}
	}
	for _, t := range types.types {
		taken := map[int]inventory.Quantity{}
		for _, l := range t.lines {
			i := b.view.itemAt[l.Item]
			taken[i] += l.PerJob(b.view.Items[i].Measure)
			a.largest[i] = max(a.largest[i], taken[i])
		}
	}
	return a
}

// sureUse is what booked jobs take for certain, by item, within its protection
// time. What the book has every job take is certain, whatever a few jobs did.
func (v *view) sureUse(rhythms []rhythm) []inventory.Quantity {
	sure := make([]inventory.Quantity, len(v.Items))
	bill := inventory.NewBill(certain(v.Shop, v.book))
	for _, j := range v.Jobs {
		if j.State != inventory.Booked {
			continue
		}
		for _, l := range v.sourced(bill.Lines(j.Services, j.Model, j.BenchDate)) {
			if i := v.itemAt[l.Item]; l.Need >= 1 && j.BenchDate <= rhythms[i].protectUntil {
				sure[i] += l.PerJob(v.Items[i].Measure)
			}
		}
	}
	return sure
}

// most is the largest quantity of an item that may be ordered where so much is
// wanted. What booked jobs take for certain within the protection time may be
// ordered in any case, in the smallest order that brings it; strict leaves that
// out.
func (a keeping) most(item int, wanted inventory.Quantity) (most, strict inventory.Quantity) {
	if a.expires[item].IsZero() || wanted <= 0 {
		return wanted, wanted
	}
	have := a.held.usable[item] + a.held.onOrder[item]
	used := a.usedInTime(item, have+wanted)
	strict = max(0, min(wanted, used-have))
	most = strict
	if lacks := a.sure[item] - a.position[item]; lacks > 0 {
		most = max(most, min(wanted, a.usual(item, a.fewest(item, lacks))))
	}
	return most, strict
}

// certainlyMore is how many times a quantity, and the largest that a job
// takes, the expected use must be for it to be used in nine cases of ten
// without a look at the law. By Cantelli's inequality a tenth needs a standard
// deviation of 0.32 of the mean for that; that of jobs which come by themselves
// is 0.22 or less here.
const certainlyMore = 20

// usedInTime is what is used of an item before what is ordered now expires, with
// probability keepWell; or a lower bound of it that is enough.
func (a keeping) usedInTime(item int, enough inventory.Quantity) inventory.Quantity {
	if known, found := a.used[item]; found && (known.qty >= enough || !known.atLeast) {
		return known.qty
	}
	until := a.expires[item] - 1
	if a.expectedUntil(item, until) >= certainlyMore*float64(max(enough, a.largest[item])) {
		return enough
	}
	steps := a.inSteps(item, enough+a.step[item]-1)
	used := usedUp{inventory.Quantity(a.quantile(item, until, steps)) * a.step[item], false}
	used.atLeast = used.qty >= enough
	a.used[item] = used
	return used.qty
}

// horizonDays is how many days the forecast looks ahead.
func (v *view) horizonDays() inventory.Date {
	return inventory.Date(v.cal.Weeks[len(v.cal.Weeks)-1].Last-v.cal.AsOf) + 1
}

// expectedUntil is the expected use up to a day, beyond the horizon at its mean.
func (a keeping) expectedUntil(item int, day inventory.Date) float64 {
	days, horizon := day-a.view.AsOf+1, a.view.horizonDays()
	if days <= horizon {
		return a.use.until(item, day).sum()
	}
	return a.use.total(item) * float64(days) / float64(horizon)
}

// quantile is the steps that are used up to a day with probability keepWell, or
// enough of them. Beyond the horizon its law is taken to come again, each time
// by itself, and a beginning of it for what is left.
func (a keeping) quantile(item int, day inventory.Date, enough int) int {
	horizon := a.view.horizonDays()
	lawOf := func(days inventory.Date) forecast.PMF {
		span := a.view.cal.Until(forecast.Day(a.view.AsOf + days - 1))
		return a.takings.Laws(span, []int{item})[0]
	}
	// A little less than a tenth, since laws are sums of rounded probabilities.
	used := func(law forecast.PMF) int { return law.Quantile(1 - keepWell - 1e-9) }
	days := max(0, day-a.view.AsOf+1)
	if days == 0 {
		return 0
	}
	once := lawOf(min(days, horizon))
	law := once
	for days -= min(days, horizon); days >= horizon && used(law) < enough; days -= horizon {
		law = law.Convolve(once)
	}
	if days > 0 && used(law) < enough {
		law = law.Convolve(lawOf(min(days, horizon)))
	}
	return used(law)
}
