package plan

import (
	"reflect"
	"testing"

	"circlip/inventory"
	"circlip/testdata/big"
)

// Whoever asks for kits beside a plan is told what the plan tells, and what the
// benches have to do follows from it.
func TestKitsBesideAPlanAreThePlans(t *testing.T) {
	shop := big.New(big.Small).Shop
	shop.Settings.Learn = true
	p, err := Make(shop, Options{})
	if err != nil {
		t.Fatal(err)
	}
	kits := inventory.Kits(Taught(shop))
	if len(kits) == 0 || !reflect.DeepEqual(kits, p.Kits) {
		t.Errorf("found %d kits that differ from the %d of the plan", len(kits), len(p.Kits))
	}
	if reflect.DeepEqual(inventory.Kits(shop), p.Kits) {
		t.Error("the past teaches nothing of how often parts are needed: expected kits that differ from the book's alone")
	}
	if len(p.Bench) == 0 || !reflect.DeepEqual(inventory.Bench(shop, p.Kits), p.Bench) {
		t.Errorf("found a calendar of %d days that is not that of the kits", len(p.Bench))
	}
}
