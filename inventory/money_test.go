package inventory

import (
	"errors"
	"math/big"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// testdata/published/standards/iso4217.csv: a public copy of the maintenance
// agency's list, 2026-02-01.
func TestMinorUnitsOfISO4217(t *testing.T) {
	for _, row := range published(t, "iso4217.csv") {
		c, err := ParseCurrency(row["alpha"])
		if row["minor_unit"] == "-" {
			if !errors.Is(err, ErrMoney) {
				t.Errorf("%s is no money, but %+v", row["alpha"], c)
			}
			continue
		}
		want, _ := strconv.Atoi(row["minor_unit"])
		if err != nil || c.Code != row["alpha"] || c.Decimals != want {
			t.Errorf("%s: %+v, %v, want %d decimals", row["alpha"], c, err, want)
		}
	}
	for _, bad := range []string{"", "EU", "EURO", "€", "E1R", "ZZZ"} {
		if c, err := ParseCurrency(bad); !errors.Is(err, ErrMoney) {
			t.Errorf("%q: %+v, %v", bad, c, err)
		}
	}
}

func TestMoneyAsText(t *testing.T) {
	euro, yen, dinar := Currency{"EUR", 2}, Currency{"JPY", 0}, Currency{"BHD", 3}
	for _, tc := range []struct {
		c    Currency
		text string
		want Money
		back string
	}{
		{euro, "12.5", 1250, "12.50"},
		{euro, "12", 1200, "12.00"},
		{euro, "0.01", 1, "0.01"},
		{euro, "12.5000", 1250, "12.50"},
		{yen, "1200", 1200, "1200"},
		{yen, "1200.0", 1200, "1200"},
		{dinar, "1.234", 1234, "1.234"},
	} {
		got, err := tc.c.Parse(tc.text)
		if err != nil || got != tc.want || tc.c.Format(got) != tc.back {
			t.Errorf("%s %q: %d %q, %v", tc.c.Code, tc.text, got, tc.c.Format(got), err)
		}
	}
	for _, tc := range []struct {
		rule, text string
		c          Currency
	}{
		{"no tenth of a cent", "0.001", euro},
		{"no part of a yen", "0.5", yen},
		{"no sign", "-1", euro},
		{"no currency mark", "€1", euro},
		{"no comma", "1,50", euro},
		{"an amount the books hold", "1000000000000.01", euro},
		{"an amount a machine word holds", "99999999999999999999", yen},
	} {
		if got, err := tc.c.Parse(tc.text); !errors.Is(err, ErrMoney) {
			t.Errorf("%s: %q gave %d, %v", tc.rule, tc.text, got, err)
		}
		if got, err := tc.c.ParseUnitCost(tc.text + "000000"); !errors.Is(err, ErrMoney) && tc.rule != "no tenth of a cent" && tc.rule != "no part of a yen" {
			t.Errorf("as a unit cost, %s: %q gave %d, %v", tc.rule, tc.text, got, err)
		}
	}
	if n := euro.Number(1250); n != 12.5 {
		t.Errorf("12.50 is the number %g", n)
	}
}

func TestUnitCosts(t *testing.T) {
	euro := Currency{"EUR", 2}
	for _, tc := range []struct{ text, back string }{
		{"0.0249", "0.0249"}, {"1", "1.00"}, {"1.5", "1.50"}, {"0.000001", "0.000001"}, {"3.10", "3.10"},
	} {
		u, err := euro.ParseUnitCost(tc.text)
		if err != nil || euro.FormatUnitCost(u) != tc.back {
			t.Errorf("%q prints %q, %v, want %q", tc.text, euro.FormatUnitCost(u), err, tc.back)
		}
	}
	if _, err := euro.ParseUnitCost("0.0000001"); !errors.Is(err, ErrMoney) {
		t.Errorf("a ten-millionth: %v", err)
	}
	if text := (Currency{"JPY", 0}).FormatUnitCost(20_000); text != "2" {
		t.Errorf("two yen a piece print %q", text)
	}
	// A litre at 24.90 is 0.0249 the millilitre, and 120 ml of it cost 2.99.
	litre := CostOf(2490, 10_000, Millilitre)
	if euro.FormatUnitCost(litre) != "0.0249" || Value(1200, Millilitre, litre) != 299 {
		t.Errorf("%s a ml, 120 ml cost %s", euro.FormatUnitCost(litre), euro.Format(Value(1200, Millilitre, litre)))
	}
	if CostOf(100, 0, Each) != 0 {
		t.Error("a pack of nothing costs something a piece")
	}
}

func TestValueRoundsOnceHalfAwayFromZero(t *testing.T) {
	half := big.NewRat(1, 2)
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom([]Measure{Each, Millilitre}).Draw(t, "measure")
		q := Quantity(rapid.Int64Range(-1_000_000, 1_000_000).Draw(t, "steps"))
		u := UnitCost(rapid.Int64Range(0, 1_000_000_000).Draw(t, "unit cost"))
		exact := big.NewRat(int64(q)*int64(u), m.Steps()*unitCostFraction)
		off := new(big.Rat).Sub(big.NewRat(int64(Value(q, m, u)), 1), exact)
		if off.Abs(off).Cmp(half) > 0 {
			t.Fatalf("%d steps at %d: %d is more than half a unit from %s", q, u, Value(q, m, u), exact.FloatString(3))
		}
		if Value(-q, m, u) != -Value(q, m, u) {
			t.Fatalf("%d and minus it are worth %d and %d", q, Value(q, m, u), Value(-q, m, u))
		}
	})
}

func TestAmountsAreTheNearestFloats(t *testing.T) {
	rows := []struct {
		decimals int
		money    Money
		want     float64
	}{
		{2, 7, 0.07}, {2, 1840, 18.40}, {3, 1, 0.001}, {0, 6605, 6605}, {2, -7, -0.07}, {4, 123_4567, 123.4567},
	}
	for _, r := range rows {
		if got := (Currency{Decimals: r.decimals}).Number(r.money); got != r.want {
			t.Errorf("%d with %d decimals: found %v, expected %v", r.money, r.decimals, got, r.want)
		}
	}
}
