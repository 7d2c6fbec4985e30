package order

import (
	"errors"
	"fmt"
)

var (
	// ErrProblem is what every refusal of a Problem wraps: numbers that make no
	// sense, or an item without options.
	ErrProblem = errors.New("choice of suppliers not usable")
	// ErrMinimum tells that no choice was found that meets the minimum order of
	// every supplier it uses.
	ErrMinimum = errors.New("minimum orders cannot be met")
)

// Problem is what one week needs. Each item is bought by exactly one of its
// options.
type Problem struct {
	Suppliers []Supplier
	Items     []Item
}

// Supplier is what an order costs beside its goods, and what it must come to.
// All amounts are minor units of money, not below zero.
type Supplier struct {
	Carriage int64 // paid once if any option of the supplier is taken
	FreeFrom int64 // goods from which carriage is free
	Free     bool  // whether FreeFrom holds at all
	MinOrder int64 // goods below which no order is taken; 0: none
}

// Item is a thing that is needed, with the ways of buying it.
type Item struct {
	Options []Option
}

// Option is one way of buying an item: what is needed, as much as a price
// break asks for, or later weeks' needs brought forward.
type Option struct {
	Supplier int
	Goods    int64 // minor units paid, not below zero; counts towards MinOrder and FreeFrom
	Cost     int64 // minor units compared: Goods, less what its surplus saves later; may be below zero
	Days     int   // until it comes; only breaks ties
}

// Effort limits the search.
type Effort struct {
	// Nodes is how much is looked at before giving up on exactness: each set
	// of changes counts one, each bound one for every item. 0: 500,000, which
	// fits 12 suppliers and a thousand items.
	Nodes int
}

// Choice is what is bought where.
type Choice struct {
	Taken    []int   // by item: its option
	Goods    []int64 // by supplier, minor units
	Carriage []int64 // by supplier, minor units
	Cost     int64   // the options' Cost and carriage together
	Bound    int64   // proven: no choice costs less
	Exact    bool    // Bound is Cost
}

const (
	usualNodes = 500_000
	most       = 1 << 52 // minor units of a whole problem: all sums of the search stay inside 64 bits
)

// check refuses what makes no sense and returns the size of the problem: what
// all its options and carriage come to, which no sum of the search passes.
func (p Problem) check() (size int64, err error) {
	for s, sup := range p.Suppliers {
		if sup.Carriage < 0 || sup.FreeFrom < 0 || sup.MinOrder < 0 {
			return 0, fmt.Errorf("%w: supplier %d has carriage %d, free from %d, minimum %d, expected none below zero",
				ErrProblem, s, sup.Carriage, sup.FreeFrom, sup.MinOrder)
		}
		size = plus(size, sup.Carriage)
	}
	for i, it := range p.Items {
		if len(it.Options) == 0 {
			return 0, fmt.Errorf("%w: item %d has no option, expected at least one", ErrProblem, i)
		}
		for o, opt := range it.Options {
			if err := opt.check(len(p.Suppliers)); err != nil {
				return 0, fmt.Errorf("%w: item %d, option %d: %w", ErrProblem, i, o, err)
			}
			size = plus(size, max(opt.Goods, opt.Cost, -opt.Cost))
		}
	}
	if size > most {
		return 0, fmt.Errorf("%w: all options and carriage come to more than %d minor units; split the problem", ErrProblem, int64(most))
	}
	return size, nil
}

func (o Option) check(suppliers int) error {
	switch {
	case o.Supplier < 0 || o.Supplier >= suppliers:
		return fmt.Errorf("supplier %d, expected one of %d", o.Supplier, suppliers)
	case o.Goods < 0 || o.Goods > most:
		return fmt.Errorf("goods %d, expected 0 to %d", o.Goods, int64(most))
	case o.Cost < -most || o.Cost > most:
		return fmt.Errorf("cost %d, expected %d to %d", o.Cost, int64(-most), int64(most))
	}
	return nil
}

// plus adds amounts not below zero; what is more than most stays so.
func plus(a, b int64) int64 {
	return min(min(a, most+1)+min(b, most+1), most+1)
}
