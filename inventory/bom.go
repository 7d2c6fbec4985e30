package inventory

import (
	"cmp"
	"math"
	"slices"
)

// Bill answers what services take on a model on a day.
type Bill struct {
	services map[string]Service
	family   map[string]string // by model
	lines    map[string][]BOMLine
	inKit    map[string][]KitPart // by part
}

// NewBill indexes the shop's bill of materials; lines keep the order of their
// keys.
func NewBill(shop Shop) *Bill {
	b := &Bill{
		services: make(map[string]Service, len(shop.Services)),
		family:   make(map[string]string, len(shop.Models)),
		lines:    map[string][]BOMLine{},
		inKit:    map[string][]KitPart{},
	}
	for _, s := range shop.Services {
		b.services[s.Code] = s
	}
	for _, m := range shop.Models {
		b.family[m.Code] = m.Family
	}
	for _, l := range shop.BOM {
		b.lines[l.Service] = append(b.lines[l.Service], l)
	}
	for _, k := range shop.Kits {
		b.inKit[k.Item] = append(b.inKit[k.Item], k)
	}
	return b
}

// Lines is what one job of these services takes on the model on that day.
// Services that another of them covers take nothing of their own; a line for
// the exact model stands in for the family's line of the same item; a part
// that lies in a kit which the job always takes is not taken once more. Items
// may stand in several lines, one for each service that takes them.
func (b *Bill) Lines(services []string, model string, on Date) []BOMLine {
	var taken []BOMLine
	for _, code := range b.Uncovered(services) {
		exact := map[string]bool{}
		for _, l := range b.lines[code] {
			if l.Model == model && l.InForce(on) {
				exact[l.Item] = true
			}
		}
		for _, l := range b.lines[code] {
			if l.InForce(on) && (l.Model == model || (l.Model == AnyModel && !exact[l.Item] && b.fits(code, model))) {
				taken = append(taken, l)
			}
		}
	}
	all := slices.Clone(taken)
	taken = slices.DeleteFunc(taken, func(l BOMLine) bool { return b.comesInKit(l, all) })
	slices.SortStableFunc(taken, func(x, y BOMLine) int { return cmp.Compare(x.Item, y.Item) })
	return taken
}

// comesInKit reports whether another line's kit, taken by every job, holds as
// much as the line asks for.
func (b *Bill) comesInKit(l BOMLine, taken []BOMLine) bool {
	for _, k := range b.inKit[l.Item] {
		for _, t := range taken {
			if t.Item == k.Kit && t.Need >= 1 && t.Qty*k.Qty >= l.Qty {
				return true
			}
		}
	}
	return false
}

// fits reports whether the model is of the service's family; a model that the
// book does not know takes the family's lines.
func (b *Bill) fits(service, model string) bool {
	family, known := b.family[model]
	return !known || family == b.services[service].Family
}

// Uncovered drops repeated services and those that another of them covers.
func (b *Bill) Uncovered(services []string) []string {
	var kept []string
	for i, code := range services {
		covered := slices.Contains(services[:i], code)
		for _, other := range services {
			covered = covered || (other != code && b.Covers(other, code))
		}
		if !covered {
			kept = append(kept, code)
		}
	}
	return kept
}

// Covers reports whether doing the service includes the other, directly or
// through one that it covers.
func (b *Bill) Covers(service, other string) bool {
	return b.covers(service, other, map[string]bool{})
}

func (b *Bill) covers(service, other string, seen map[string]bool) bool {
	if seen[service] {
		return false
	}
	seen[service] = true
	for _, c := range b.services[service].Covers {
		if c == other || b.covers(c, other, seen) {
			return true
		}
	}
	return false
}

// InForce reports whether the line holds on the day: from From until the day
// before To.
func (l BOMLine) InForce(on Date) bool {
	return l.From <= on && (l.To.IsZero() || on < l.To)
}

// PerJob is what a kit for one job should hold of the line: the quantity with
// its waste, fluids and grease rounded up to a step, pieces to the nearest
// piece, since a waste of 2 % of seals is one seal in fifty jobs, not one more
// in each.
func (l BOMLine) PerJob(m Measure) Quantity {
	if m == Each {
		return max(l.Qty, Quantity(math.Round(float64(l.Qty)*(1+l.Waste))))
	}
	return m.RoundUp(m.Number(l.Qty) * (1 + l.Waste))
}

// Sizes is the law of what one job that takes the line uses: low, or with
// probability pMore one piece more, so that the mean over jobs is the quantity
// with its waste. Fluids and grease always take the same.
func (l BOMLine) Sizes(m Measure) (low Quantity, pMore float64) {
	if m != Each {
		return l.PerJob(m), 0
	}
	mean := float64(l.Qty) * (1 + l.Waste)
	low = Quantity(math.Floor(mean + 1e-9))
	return low, max(0, mean-float64(low))
}

// UsableOn reports whether the lot is still good on the day; on the day of its
// expiry it is not.
func (l Lot) UsableOn(on Date) bool { return l.Expires.IsZero() || on < l.Expires }

// Free is on hand less set aside.
func (l Lot) Free() Quantity {
	free := l.OnHand
	for _, s := range l.SetAside {
		free -= s.Qty
	}
	return max(0, free)
}

// FirstExpiredFirst orders lots for issue: earliest expiry first, lots that do
// not age last; ties by receipt, then by code.
func FirstExpiredFirst(a, b Lot) int {
	if a.Expires != b.Expires {
		if a.Expires.IsZero() {
			return 1
		}
		if b.Expires.IsZero() {
			return -1
		}
		return cmp.Compare(a.Expires, b.Expires)
	}
	return cmp.Or(cmp.Compare(a.Received, b.Received), cmp.Compare(a.Code, b.Code))
}
