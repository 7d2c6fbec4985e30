package plan

import (
	"cmp"
	"slices"

	"circlip/inventory"
)

// sourced is the bill of one job with parts that can only be had by opening a
// kit turned into that kit: parts of one kit share it, so that a job takes as
// many kits as its scarcest part needs, with the probability that it needs any
// of them.
func (v *view) sourced(lines []inventory.BOMLine) []inventory.BOMLine {
	var own []inventory.BOMLine
	kits := map[string]inventory.BOMLine{}
	for _, l := range lines {
		kit, only := v.onlyInKit(l.Item)
		if !only {
			own = append(own, l)
			continue
		}
		if !slices.Contains(v.kitted, l.Item) {
			v.kitted = append(v.kitted, l.Item)
		}
		opened := l
		opened.Item, opened.Waste = kit.Kit, 0
		opened.Qty = (l.PerJob(v.Items[v.itemAt[l.Item]].Measure) + kit.Qty - 1) / kit.Qty
		if k, shared := kits[kit.Kit]; shared {
			opened.Qty = max(k.Qty, opened.Qty)
			opened.Need = 1 - (1-k.Need)*(1-l.Need)
		}
		kits[kit.Kit] = opened
	}
	for _, k := range kits {
		own = append(own, k)
	}
	slices.SortStableFunc(own, func(a, b inventory.BOMLine) int { return cmp.Compare(a.Item, b.Item) })
	return own
}

// onlyInKit finds the kit to open for a part that nobody offers by itself: the
// one with the lowest price, then by code.
func (v *view) onlyInKit(item string) (inventory.KitPart, bool) {
	if len(v.offers[item]) > 0 {
		return inventory.KitPart{}, false
	}
	var best inventory.KitPart
	var bestPrice inventory.Money
	for _, k := range v.kitsWith[item] {
		offers := v.offers[k.Kit]
		if len(offers) == 0 {
			continue
		}
		cheapest := slices.MinFunc(offers, func(a, b inventory.Offer) int { return cmp.Compare(a.Price, b.Price) }).Price
		if best.Kit == "" || cheapest < bestPrice {
			best, bestPrice = k, cheapest
		}
	}
	return best, best.Kit != ""
}
