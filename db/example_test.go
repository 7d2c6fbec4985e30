package db_test

import (
	"context"
	"errors"
	"fmt"
	"log"
	"time"

	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
)

func Example() {
	ctx := context.Background()
	store, err := db.Open(ctx, "postgres:///circlip")
	if err != nil {
		log.Fatal(err)
	}
	defer store.Close()

	const workshop = 1
	key := uuid.New() // kept until the answer is here: asking again under it does no harm
	done, err := store.Do(ctx, workshop, key, db.Take{
		Job: "J-0412", On: inventory.DateOf(time.Now()),
		Lines: []db.Line{{Item: "wiper-35", Qty: 2}, {Item: "oil-10w", Qty: 1_200}}, // 120 ml
	})
	if errors.Is(err, inventory.ErrShort) {
		fmt.Println(err)
		return
	}
	for _, m := range done.Moved {
		fmt.Println(m.Item, m.Lot, m.Qty)
	}
}
