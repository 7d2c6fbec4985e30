package inventory

// UsualCost is what one of an item costs where its lot does not say: its usual
// offer, see OfferedAt. What is only sold inside a kit costs its share of the
// first kit by code that is on offer. Zero: nobody offers it.
func UsualCost(shop Shop, item Item) UnitCost {
	if c := OfferedAt(shop.Offers, item.Code, item.Measure); c != 0 {
		return c
	}
	for _, k := range shop.Kits {
		if k.Item != item.Code {
			continue
		}
		kit := OfferedAt(shop.Offers, k.Kit, Each)
		if kit == 0 {
			continue
		}
		for _, share := range ShareCost(Value(1, Each, kit), 1, Contents(shop, k.Kit)) {
			if share.Item == item.Code {
				return share.Unit
			}
		}
	}
	return 0
}
