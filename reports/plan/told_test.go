package plan_test

import (
	"bytes"
	"testing"

	"circlip/reports"
	"circlip/reports/plan"
	"circlip/testdata/big"

	"github.com/google/go-cmp/cmp"
)

// The sheet of demand shows a few items; a plan works out the weeks of these
// alone. Both must pick the same.
func TestTheSheetOfDemandMissesNothing(t *testing.T) {
	shop := big.New(big.Small).Shop
	shown := func(o plan.Options) (rows int, text string) {
		p, err := plan.Make(shop, o)
		if err != nil {
			t.Fatal(err)
		}
		sheet := reports.Demand(p)
		var out bytes.Buffer
		if err := reports.Text(&out, sheet); err != nil {
			t.Fatal(err)
		}
		return len(sheet.Rows), out.String()
	}
	rows, few := shown(plan.Options{})
	_, all := shown(plan.Options{EveryWeek: true})
	if diff := cmp.Diff(all, few); diff != "" {
		t.Errorf("the sheet with every item's weeks (-) and with those told of (+):\n%s", diff)
	}
	if want := plan.Told * shop.Settings.HorizonWeeks; rows != want {
		t.Errorf("found %d rows, expected %d items in %d weeks", rows, plan.Told, shop.Settings.HorizonWeeks)
	}
}
