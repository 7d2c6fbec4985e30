// Package inventory holds the nouns and rules of the shelf and the bench of a
// suspension workshop: items, lots, movements, bills of materials, units,
// jobs, orders, shelf life, and what may be promised. It is pure: no SQL, no
// files, no clock, no random source; what it needs is handed in as values.
//
// Four words to know:
//
//   - An item is a thing kept on the shelf. Its measure (ea, ml or g) says
//     what its quantities count.
//   - A Quantity is a whole number of the measure's smallest step: one piece,
//     0.1 ml, 0.1 g. Nothing on the shelf is ever a float.
//   - A lot is one delivery of an item, with its own expiry and unit cost.
//   - A place is where stock can be: a lot on the shelf, or one of the worlds
//     outside it (supplier, job, waste, count difference, opening).
//
// For example, what a service takes of an oil:
//
//	q, err := inventory.Millilitre.ParseQuantity("12.5") // 125 steps of 0.1 ml
//	fmt.Println(inventory.Millilitre.Format(q))          // "12.5"
package inventory
