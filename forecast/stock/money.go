package stock

import (
	"math"
	"math/bits"
)

// Money is exact; an amount that no 64-bit number holds becomes the largest
// one, which no budget reaches.

// times is packs, not below zero, at a price each.
func times(packs int, price int64) int64 {
	high, low := bits.Mul64(uint64(packs), uint64(price))
	if high > 0 || low > math.MaxInt64 {
		return math.MaxInt64
	}
	return int64(low)
}

// plus adds amounts that are not below zero.
func plus(a, b int64) int64 {
	if a > math.MaxInt64-b {
		return math.MaxInt64
	}
	return a + b
}

// share is what so many steps cost at a price for a pack of them, rounded half
// up; 0 where there is no pack.
func share(steps, pack int, price int64) int64 {
	if pack == 0 {
		return 0
	}
	high, low := bits.Mul64(uint64(steps), uint64(price))
	low, carry := bits.Add64(low, uint64(pack)/2, 0)
	high += carry
	if high >= uint64(pack) {
		return math.MaxInt64
	}
	whole, _ := bits.Div64(high, low, uint64(pack))
	return int64(min(whole, math.MaxInt64))
}
