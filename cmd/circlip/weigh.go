package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"circlip/inventory"
	"circlip/reports"
)

type weighCommand struct {
	Item     string   `arg:"" help:"What is weighed." placeholder:"ITEM"`
	Weights  []string `arg:"" optional:"" help:"A known container and its weight in g, or with --tare a weight alone." placeholder:"CONTAINER=GROSS"`
	Tare     *float64 `help:"Weight of the empty container in g, where it is none that is known." placeholder:"G"`
	Temp     *float64 `help:"Temperature of the fluid in °C. Default: taken as 15." placeholder:"C"`
	Measured []string `help:"What a further container holds that was measured, or is still sealed." placeholder:"QTY"`
	Post     bool     `help:"Book it as the count of the day; without it the result is only shown."`
}

// Run turns weights into what is there, and books it as a count where asked.
func (c weighCommand) Run(s *session) error {
	return s.tally(c.Post, "the same again with --post", func(shop inventory.Shop) (inventory.Stocktake, error) {
		item, _, err := scanned(shop, c.Item)
		if err != nil {
			return inventory.Stocktake{}, err
		}
		taken := inventory.Stocktake{Workshop: shop.Settings.Workshop, WrittenOn: shop.AsOf, On: shop.AsOf,
			Listed: []inventory.Listed{{Item: item.Code, OnHand: onHand(shop, item.Code)}}}
		for _, text := range c.Weights {
			part, err := c.weighed(shop, item, text)
			if err != nil {
				return taken, err
			}
			taken.Counted = append(taken.Counted, part)
		}
		for _, text := range c.Measured {
			qty, err := item.Measure.ParseQuantity(text)
			if err != nil {
				return taken, fmt.Errorf("--measured: %w", err)
			}
			taken.Counted = append(taken.Counted, inventory.Counted{Item: item.Code, Qty: qty})
		}
		if len(taken.Counted) == 0 {
			return taken, fmt.Errorf("%s: found no weight and nothing measured, expected a container as in BOTTLE=371, or --measured", item.Code)
		}
		return taken, nil
	}, reports.Weighed, reports.Tally)
}

// weighed is one container on the scale.
func (c weighCommand) weighed(shop inventory.Shop, item inventory.Item, text string) (inventory.Counted, error) {
	part := inventory.Counted{Item: item.Code, Weighed: &inventory.Weighing{TempC: c.Temp}}
	code, weight, named := cutLast(text, "=")
	if !named {
		code, weight = "", text
	}
	var err error
	if part.Weighed.GrossG, err = strconv.ParseFloat(strings.TrimSuffix(weight, "g"), 64); err != nil {
		return part, fmt.Errorf("%w: found %q, expected a weight in g, as in BOTTLE=371", inventory.ErrInvalid, text)
	}
	at := slices.IndexFunc(shop.Containers, func(k inventory.Container) bool { return k.Code == code })
	switch {
	case named && at < 0:
		return part, fmt.Errorf("container %s: %w: expected one of the book's containers, or the weight alone with --tare", code, inventory.ErrNotFound)
	case named:
		part.Container, part.Weighed.TareG = code, shop.Containers[at].TareG
	case c.Tare == nil:
		return part, fmt.Errorf("%w: found the weight %s without a container, expected CONTAINER=%[2]s or --tare", inventory.ErrInvalid, text)
	default:
		part.Weighed.TareG = *c.Tare
	}
	part.Qty, err = part.Weighed.Quantity(item.Measure, item.DensityKgM3)
	return part, err
}

func onHand(shop inventory.Shop, item string) (sum inventory.Quantity) {
	for _, l := range shop.Lots {
		if l.Item == item {
			sum += l.OnHand
		}
	}
	return sum
}
