// Package order answers what is ordered from whom, and when. It is pure:
// numbers in, numbers out; the same input gives the same bytes.
//
// [Cheapest] splits what one week needs among suppliers. Each supplier asks
// carriage once, until goods make it free, and may take no order below a
// minimum; so the cheapest offer of every item by itself is not the cheapest
// order. [Economic] is the textbook's quantity of one item under price breaks.
// [Ahead] tells which weeks' goods to order together.
//
// Words to know:
//
//   - An option is one way of buying an item. It has two amounts: its goods are
//     what is paid and count towards minimum and free carriage; its cost is what
//     is compared, goods less what a surplus saves later.
//   - A way is how to deal with a supplier: not at all, with carriage paid, or
//     with goods that make carriage free. Once the ways are settled what is left
//     is to choose an option for each item so that orders come to their least.
//   - A price makes goods worth something to an order that must come to a least.
//     With it the best option of each item can be told by itself, and a bound
//     follows that no choice undercuts.
//
// The search settles one supplier after another, always where the bound is
// least, and looks last through all choices whose value lies between the bound
// and the best choice known. That gap is at most what a few items can move, so
// few choices are in it.
//
// For example, a kit that is 0.50 cheaper elsewhere, where carriage is 6.00:
//
//	choice, err := order.Cheapest(order.Problem{
//		Suppliers: []order.Supplier{{Carriage: 600}, {Carriage: 600}},
//		Items: []order.Item{
//			{Options: []order.Option{{Supplier: 0, Goods: 4000, Cost: 4000}}},
//			{Options: []order.Option{{Supplier: 0, Goods: 2450, Cost: 2450}, {Supplier: 1, Goods: 2400, Cost: 2400}}},
//		},
//	}, order.Effort{})
//	choice.Taken // [0 0]
//	choice.Cost  // 7050
package order
