package inventory

import (
	"errors"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// testdata/published/standards/volume_correction.csv: ASTM D1250 / API MPMS
// 11.1, Table 54D computed apart from this program, and three printed cells of
// Table 54B, which has the same form with another expansion.
func TestVolumeCorrectionOfD1250(t *testing.T) {
	printed := 0
	for _, row := range published(t, "volume_correction.csv") {
		number := func(column string) float64 {
			x, err := strconv.ParseFloat(row[column], 64)
			if err != nil {
				t.Fatal(err)
			}
			return x
		}
		rho, temp := number("rho15_kg_m3"), number("temp_C")
		got, places := VolumeCorrection(rho, temp), "vcf_6dp"
		if row["table"] != "54D lubricating oil" {
			printed++
			got, places = volumeCorrection(number("alpha15_per_C"), temp-ReferenceC), "vcf_4dp"
		}
		if want := number(places); math.Abs(got-want) > map[string]float64{"vcf_6dp": 0.6e-6, "vcf_4dp": 0.5e-4}[places] {
			t.Errorf("%s at %g kg/m³ and %g °C: %.7f, want %g", row["table"], rho, temp, got, want)
		}
		if row["table"] != "54D lubricating oil" {
			continue
		}
		// 1 litre at the temperature weighs what the published density says.
		kilo := Weighing{GrossG: 10*number("g_per_100mL_observed") + 50, TareG: 50, TempC: &temp}
		if q, err := kilo.Quantity(Millilitre, rho); err != nil || q < 9999 || q > 10001 {
			t.Errorf("a litre at %g kg/m³ and %g °C: %s ml, %v", rho, temp, Millilitre.Format(q), err)
		}
	}
	if printed != 3 {
		t.Errorf("%d printed cells of the sister table checked, want 3", printed)
	}
}

func TestWeighedContainers(t *testing.T) {
	at := func(temp float64) *float64 { return &temp }
	for _, tc := range []struct {
		rule    string
		w       Weighing
		m       Measure
		density float64
		want    string
	}{
		{"grams need no density", Weighing{812.34, 12.3, nil}, Gram, 0, "800"},
		{"half a step goes up", Weighing{10.05, 0, nil}, Gram, 0, "10.1"},
		{"an empty container holds nothing", Weighing{55, 55, at(20)}, Millilitre, 870, "0"},
		{"no temperature: the density as stated", Weighing{920, 50, nil}, Millilitre, 870, "1000"},
		{"warm oil is lighter and fills more", Weighing{920, 50, at(25)}, Millilitre, 870, "1007.3"},
		{"cold oil is denser and fills less", Weighing{920, 50, at(5)}, Millilitre, 870, "992.9"},
		{"outside the table no correction is known", Weighing{785, 0, at(30)}, Millilitre, 785, "1000"},
	} {
		q, err := tc.w.Quantity(tc.m, tc.density)
		if err != nil || tc.m.Format(q) != tc.want {
			t.Errorf("%s: %s, %v, want %s", tc.rule, tc.m.Format(q), err, tc.want)
		}
	}
	for _, tc := range []struct {
		rule    string
		w       Weighing
		m       Measure
		density float64
	}{
		{"pieces are counted", Weighing{10, 5, nil}, Each, 870},
		{"millilitres need a density", Weighing{10, 5, nil}, Millilitre, 0},
		{"a density is a number", Weighing{10, 5, nil}, Millilitre, math.NaN()},
		{"the tare is not the heavier", Weighing{5, 10, nil}, Gram, 0},
		{"a weight is a number", Weighing{math.NaN(), 10, nil}, Gram, 0},
		{"and finite", Weighing{math.Inf(1), 10, nil}, Gram, 0},
		{"no more than the books hold", Weighing{1e12, 0, nil}, Gram, 0},
	} {
		if q, err := tc.w.Quantity(tc.m, tc.density); !errors.Is(err, ErrInvalid) {
			t.Errorf("%s: %d, %v", tc.rule, q, err)
		}
	}
}

func TestVolumeCorrectionIsOneAtFifteenDegreesAndFallsWithHeat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rho := rapid.Float64Range(oilLightest, oilHeaviest).Draw(t, "density")
		cooler := rapid.Float64Range(-20, 60).Draw(t, "cooler")
		warmer := cooler + rapid.Float64Range(0.1, 20).Draw(t, "by")
		if f := VolumeCorrection(rho, ReferenceC); f != 1 {
			t.Fatalf("at 15 °C: %g", f)
		}
		if VolumeCorrection(rho, warmer) >= VolumeCorrection(rho, cooler) {
			t.Fatalf("%g kg/m³ fills no more at %g than at %g °C", rho, warmer, cooler)
		}
	})
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if f := VolumeCorrection(870, bad); f != 1 {
			t.Errorf("temperature %g: %g", bad, f)
		}
		if f := VolumeCorrection(bad, 20); f != 1 {
			t.Errorf("density %g: %g", bad, f)
		}
	}
}
