// Package oring knows O-rings by their size: the sizes of AS568 with their
// tolerances, the tolerances of ISO 3601-1 for all other sizes, what becomes of
// a ring in its groove, and which rings on the shelf might stand in for each
// other.
//
// Four words to know:
//
//   - The inside diameter and the section make the size of a ring, both in mm:
//     the hole, and the thickness of the cord.
//   - The stretch is how much wider than its inside diameter a ring is held by
//     the root of its groove. What is stretched gets thinner.
//   - The squeeze is the share of the section that the bore presses away.
//   - The fill is the share of the groove that the ring takes up.
//
// For example, how the ring of dash number 214 sits on a piston:
//
//	ring, _ := oring.Dash("214")
//	fit, ok := ring.In(inventory.Groove{RootMM: 25.4, BoreMM: 31.4, WidthMM: 4.8})
//	fmt.Printf("%.1f %%", 100*fit.Squeeze) // 13.7 %
//
// A match in size says nothing of material, hardness, shape or duty: what
// Propose finds is for a person to review, and nothing else here acts on it.
package oring
