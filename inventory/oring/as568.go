package oring

import (
	"cmp"
	"fmt"
	"slices"
)

// series are the sizes of one section in AS568, in thousandths of an inch, as
// the standard states them.
type series struct {
	section, tolerance int
	rows               []row
}

type row struct{ dash, inside, tolerance int }

// inches is AS568 as far as it was found: 112 of its 369 sizes. CONFIRMED where
// public transcriptions agree: an OpenSCAD table, github.com/v2gundam/o-ring-fit
// and two tables of github.com/bckasper3/KasperCalc (three of the four for some
// of the 900s; whether they are independent is not known). The standard itself
// was not read.
var inches = []series{
	{40, 3, []row{
		{1, 29, 4},
	}},
	{50, 3, []row{
		{2, 42, 4},
	}},
	{60, 3, []row{
		{3, 56, 4},
	}},
	{70, 3, []row{
		{4, 70, 5}, {5, 101, 5}, {6, 114, 5}, {7, 145, 5}, {8, 176, 5}, {9, 208, 5}, {10, 239, 5},
		{11, 301, 5}, {12, 364, 5}, {13, 426, 5}, {14, 489, 5}, {15, 551, 7}, {16, 614, 9}, {17, 676, 9},
		{18, 739, 9}, {19, 801, 9}, {20, 864, 9}, {21, 926, 9}, {22, 989, 10}, {23, 1051, 10}, {24, 1114, 10},
		{25, 1176, 11}, {26, 1239, 11}, {27, 1301, 11}, {28, 1364, 13}, {29, 1489, 13}, {30, 1614, 13}, {31, 1739, 15},
		{32, 1864, 15}, {33, 1989, 18}, {34, 2114, 18}, {35, 2239, 18}, {40, 2864, 20}, {45, 3989, 27}, {50, 5239, 37},
	}},
	{103, 3, []row{
		{102, 49, 5}, {104, 112, 5}, {106, 174, 5}, {108, 237, 5}, {109, 299, 5}, {110, 362, 5}, {111, 424, 5},
		{112, 487, 5}, {113, 549, 7}, {114, 612, 9}, {115, 674, 9}, {116, 737, 9}, {117, 799, 10}, {118, 862, 10},
		{119, 924, 10}, {120, 987, 10}, {121, 1049, 10}, {122, 1112, 10}, {123, 1174, 12}, {124, 1237, 12}, {125, 1299, 12},
		{126, 1362, 12}, {127, 1424, 12}, {128, 1487, 12}, {130, 1612, 15}, {135, 1925, 17}, {139, 2175, 17}, {143, 2425, 20},
		{147, 2675, 22}, {150, 2862, 22},
	}},
	{139, 4, []row{
		{201, 171, 5}, {204, 359, 5}, {206, 484, 5}, {208, 609, 9}, {210, 734, 10}, {211, 796, 10}, {212, 859, 10},
		{213, 921, 10}, {214, 984, 10}, {215, 1046, 10}, {216, 1109, 12}, {217, 1171, 12}, {218, 1234, 12}, {219, 1296, 12},
		{220, 1359, 12}, {221, 1421, 12}, {222, 1484, 15}, {223, 1609, 15}, {224, 1734, 15}, {225, 1859, 18}, {230, 2484, 20},
		{239, 3609, 28}, {240, 3734, 28}, {250, 4984, 35}, {284, 17955, 85},
	}},
	{210, 5, []row{
		{309, 412, 5}, {312, 600, 9}, {315, 787, 10}, {318, 975, 10}, {319, 1037, 10}, {320, 1100, 12}, {325, 1475, 15},
		{330, 2100, 18}, {340, 3350, 24}, {377, 9975, 55}, {386, 16955, 80},
	}},
	{275, 6, []row{
		{425, 4475, 33}, {430, 5100, 37}, {450, 10475, 60},
	}},
	{64, 3, []row{
		{902, 239, 5},
	}},
	{72, 3, []row{
		{904, 351, 5},
	}},
	{78, 3, []row{
		{906, 468, 5},
	}},
	{97, 3, []row{
		{910, 755, 9},
	}},
	{116, 4, []row{
		{912, 924, 9},
	}},
}

// disputed are sizes of which the transcriptions print two values each; that
// of the table fits the progression of its neighbours.
var disputed = map[int]string{
	239: "tolerance of the inside diameter 0.024 or 0.028 in",
	319: "inside diameter 1.034 or 1.037 in",
	377: "inside diameter 9.925 or 9.975 in",
	386: "tolerance of the inside diameter 0.075 or 0.080 in",
}

// as568 is the table in mm, by dash number.
var as568 = inMillimetres(inches)

func inMillimetres(all []series) []Standard {
	var sizes []Standard
	for _, s := range all {
		for _, r := range s.rows {

			sizes = append(sizes, Standard{
				Dash: fmt.Sprintf("%03d", r.dash), Disputed: disputed[r.dash],
				Size: Size{millimetres(r.inside), millimetres(r.tolerance), millimetres(s.section), millimetres(s.tolerance)},
			})
		}
	}
	slices.SortFunc(sizes, func(a, b Standard) int { return cmp.Compare(a.Dash, b.Dash) })
	return sizes
}

// millimetres turns thousandths of an inch into mm of two decimals, halves
// upwards, as tables print them. It counts in whole numbers, since exact halves
// occur (0.975 in is 24.765 mm) and floats do not know them.
func millimetres(thousandths int) float64 {
	return float64((thousandths*254+50)/100) / 100
}
