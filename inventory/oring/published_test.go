package oring

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"circlip/inventory"
)

// published reads a file of other people's numbers: one map a row, by column.
func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "published", "standards", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, record := range records[1:] {
		row := map[string]string{}
		for j, column := range records[0] {
			row[column] = record[j]
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		t.Fatalf("%s: found no rows", name)
	}
	return rows
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// as568.csv: four public transcriptions. The table here is typed in inches and
// counts its mm itself.
func TestSizesOfAS568(t *testing.T) {
	rows := published(t, "as568.csv")
	for _, row := range rows {
		got, known := Dash(row["dash"])
		want := Size{number(t, row["id_mm"]), number(t, row["id_tol_mm"]), number(t, row["cs_mm"]), number(t, row["cs_tol_mm"])}
		if !known || got.Size != want {
			t.Errorf("-%s: %+v, the standard has %+v", row["dash"], got.Size, want)
		}
		if (got.Disputed != "") != (row["status"] == "disputed") {
			t.Errorf("-%s is %s by its prints, here %q", row["dash"], row["status"], got.Disputed)
		}
		if od := got.InsideMM + 2*got.SectionMM; math.Abs(od-number(t, row["od_mm_derived"])) > .0151 {
			t.Errorf("-%s: outside diameter %.2f mm, in inches it is %s mm", row["dash"], od, row["od_mm_derived"])
		}
	}
	if len(rows) != len(as568) {
		t.Errorf("%d sizes checked, %d known: one has no published value", len(rows), len(as568))
	}
}

// known_bad_public_values.csv: what some pages print is not taken over.
func TestWrongSizesOnPublicPages(t *testing.T) {
	checked := 0
	for _, row := range published(t, "known_bad_public_values.csv") {
		dash, ours := strings.CutPrefix(row["key"], "AS568-")
		got, known := Dash(dash)
		if !ours || !known {
			continue // a week, or a size that the table lacks
		}
		mm := map[string]float64{"id_mm": got.InsideMM, "id_in": got.InsideMM, "cs_in": got.SectionMM}[row["field"]]
		right, wrong := number(t, row["expected_value"]), number(t, row["wrong_value_seen"])
		if strings.HasSuffix(row["field"], "_in") {
			right, wrong = right*25.4, wrong*25.4
		}
		if math.Abs(mm-right) > .0051 || math.Abs(mm-wrong) < .0051 {
			t.Errorf("%s %s: found %.2f mm, right is %.2f and wrong is %.2f", row["key"], row["field"], mm, right, wrong)
		}
		checked++
	}
	if checked < 10 {
		t.Errorf("only %d values checked", checked)
	}
}

// iso3601_tolerance.csv: a published table of two decimals, and the formula
// computed apart from this program. The page cuts 0.2650 to 0.26.
func TestTolerancesOfISO3601(t *testing.T) {
	for _, row := range published(t, "iso3601_tolerance.csv") {
		size, known := ISO3601(number(t, row["d1_mm"]), 3.55)
		if !known || math.Abs(size.InsideTolMM-number(t, row["tolerance_formula_0p95"])) > .00005001 {
			t.Errorf("%s mm: ±%.5f, computed ±%s", row["d1_mm"], size.InsideTolMM, row["tolerance_formula_0p95"])
		}
		if row["published_2dp"] != "" && math.Abs(size.InsideTolMM-number(t, row["published_2dp"])) > .006 {
			t.Errorf("%s mm: ±%.4f, published ±%s", row["d1_mm"], size.InsideTolMM, row["published_2dp"])
		}
	}
}

func TestSectionLostByStretch(t *testing.T) {
	for _, row := range published(t, "oring_stretch.csv") {
		x := number(t, row["id_stretch_fraction"])
		if got := Thinned(x); math.Abs(got-number(t, row["cs_reduction_as4716_empirical"])) > 5.001e-7 {
			t.Errorf("stretched by %g: thinner by %.6f, expected %s", x, got, row["cs_reduction_as4716_empirical"])
		}
		if constant := 1 - 1/math.Sqrt(1+x); Thinned(x) < constant {
			t.Errorf("stretched by %g: thinner by %.6f, less than a ring of constant volume, %.6f", x, Thinned(x), constant)
		}
	}
}

// oring_gland.csv: rings in grooves, computed apart from this program.
func TestRingsInGrooves(t *testing.T) {
	for _, row := range published(t, "oring_gland.csv") {
		g := inventory.Groove{RootMM: number(t, row["groove_root_mm"]), BoreMM: number(t, row["bore_mm"]), WidthMM: number(t, row["groove_width_mm"])}
		got, known := fit(number(t, row["id_mm"]), number(t, row["cs_mm"]), g)
		if !known {
			t.Errorf("%s, %s: not known", row["case"], row["corner"])
		}
		for column, x := range map[string]float64{"stretch": got.Stretch, "cs_reduction": got.Thinned, "squeeze": got.Squeeze, "gland_fill": got.Fill} {
			if math.Abs(x-number(t, row[column])) > 5.1e-6 {
				t.Errorf("%s, %s: %s %.5f, expected %s", row["case"], row["corner"], column, x, row[column])
			}
		}
		if math.Abs(got.SectionMM-number(t, row["cs_installed_mm"])) > 5.1e-5 {
			t.Errorf("%s, %s: section %.4f mm, expected %s", row["case"], row["corner"], got.SectionMM, row["cs_installed_mm"])
		}
		dash, _, _ := strings.Cut(strings.TrimPrefix(row["case"], "-"), " ")
		ring, _ := Dash(dash)
		least, most, known := ring.Within(g)
		if !known || !within(least, got, most) {
			t.Errorf("%s, %s: %+v lies outside %+v to %+v", row["case"], row["corner"], got, least, most)
		}
		if row["corner"] == "nominal" {
			if nominal, _ := ring.In(g); nominal != got {
				t.Errorf("%s: the dash number gives %+v, its dimensions %+v", row["case"], nominal, got)
			}
		}
	}
}

func within(least, f, most Fit) bool {
	for _, x := range [][3]float64{
		{least.Stretch, f.Stretch, most.Stretch}, {least.Thinned, f.Thinned, most.Thinned}, {least.SectionMM, f.SectionMM, most.SectionMM},
		{least.Squeeze, f.Squeeze, most.Squeeze}, {least.Fill, f.Fill, most.Fill},
	} {
		if x[1] < x[0]-1e-9 || x[1] > x[2]+1e-9 {
			return false
		}
	}
	return true
}
