package book_test

import (
	"fmt"
	"testing/fstest"

	"circlip/inventory/book"
)

// Every fault of a table is told at once; good rows become records.
func ExampleRead() {
	source, err := book.Folder(fstest.MapFS{"units.csv": {Data: []byte(`unit,model,holder,in_service
FORK-1,TRAIL-150,fleet,2026-03-01
FORK-2,TRAIL-150,flete,01.03.2026
`)}})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer source.Close()
	units, _ := book.TableOf("units")
	faults, _, err := book.Read(units, source.Rows("units"), &book.Context{}, func(r book.Record) error {
		fmt.Println(r.Row, r.Values[0], r.Values[2])
		return nil
	})
	for _, f := range faults {
		fmt.Println(f)
	}
	fmt.Println(err)
	// Output:
	// 2 FORK-1 fleet
	// units:3:holder: not one of the choices, found "flete", expected one of fleet, customer; is it "fleet"?
	// units:3:in_service: not a date, found "01.03.2026", expected YYYY-MM-DD
	// <nil>
}
