package inventory

import (
	"fmt"
	"math"
)

// ReferenceC is the temperature in °C that an item's density is stated at.
const ReferenceC = 15

const (
	// oilK1 is the constant of Table 54D of ASTM D1250 / API MPMS 11.1,
	// lubricating oils, for densities in kg/m³ at 15 °C.
	oilK1 = 0.6278
	// The densities that Table 54D is made for.
	oilLightest, oilHeaviest = 800, 1164
)

// VolumeCorrection is the factor from an oil's volume at tempC to its volume at
// 15 °C, which is also the factor from its density at 15 °C to that at tempC:
// exp(−αΔT(1 + 0.8αΔT)) with α = K1/ρ, Table 54D of ASTM D1250 / API MPMS
// 11.1. The table is made for petroleum oils of 800 to 1164 kg/m³; outside, the
// factor is 1, since no published one is known here.
func VolumeCorrection(densityKgM3, tempC float64) float64 {
	if !(densityKgM3 >= oilLightest && densityKgM3 <= oilHeaviest) || math.IsNaN(tempC) || math.IsInf(tempC, 0) {
		return 1
	}
	return volumeCorrection(oilK1/densityKgM3, tempC-ReferenceC)
}

// DensityAt is the density at tempC, in kg/m³, of an oil whose density at 15 °C is
// densityKgM3.
func DensityAt(densityKgM3, tempC float64) float64 {
	return densityKgM3 * VolumeCorrection(densityKgM3, tempC)
}

// volumeCorrection is the form that all the tables of D1250 share: alpha is the
// expansion at 15 °C per °C, delta the distance from it.
func volumeCorrection(alpha, delta float64) float64 {
	return math.Exp(-alpha * delta * (1 + 0.8*alpha*delta))
}

// Weighing is a container on the scale.
type Weighing struct {
	GrossG, TareG float64
	TempC         *float64 // of the fluid; nil: taken as 15 °C
}

// Quantity is what the container held, rounded once to the nearest step. An
// item kept in ml needs its density at 15 °C; a piece is counted, not weighed.
func (w Weighing) Quantity(m Measure, densityKgM3 float64) (Quantity, error) {
	net := w.GrossG - w.TareG
	if !(net >= 0) || math.IsInf(net, 0) {
		return 0, fmt.Errorf("%w: found %g g gross and %g g tare, expected a gross weight of the tare or more", ErrInvalid, w.GrossG, w.TareG)
	}
	amount := net
	switch {
	case m == Each:
		return 0, fmt.Errorf("%w: found a weight for an item kept in ea, expected a number of pieces", ErrInvalid)
	case m == Millilitre && !(densityKgM3 > 0):
		return 0, fmt.Errorf("%w: found a weight for an item in ml without a density, expected density_kg_m3 of the item or a quantity in ml", ErrInvalid)
	case m == Millilitre:
		amount = net * 1000 / DensityAt(densityKgM3, w.Temperature())
	}
	steps := math.Round(amount * float64(m.Steps()))
	if !(steps <= float64(MaxQuantity)) {
		return 0, fmt.Errorf("%w: found %g %s on the scale, expected at most %s", ErrInvalid, amount, m, m.Format(MaxQuantity))
	}
	return Quantity(steps), nil
}

// Temperature is what the weighing is reckoned at, in °C.
func (w Weighing) Temperature() float64 {
	if w.TempC == nil {
		return ReferenceC
	}
	return *w.TempC
}
