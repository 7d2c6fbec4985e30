package stock

// Levels is one point of the curve: what to hold of every item.
type Levels struct {
	Packs     []int // of each item, on top of the position the walk began at
	Level     []int // steps: that position and those packs
	Added     int64 // money of the packs, minor units
	Value     int64 // Added and the money the positions tie up already
	Readiness float64
}

// Point is one point of the curve of readiness against stock value.
type Point struct {
	Value     int64 // minor units, see Levels
	Readiness float64
}
