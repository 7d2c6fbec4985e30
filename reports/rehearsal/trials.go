package rehearsal

import (
	"context"
	"fmt"
	"runtime"
	"sync"

	"golang.org/x/sync/errgroup"

	"circlip/reports/rehearsal/invented"
)

// Trials invents a workshop of each configuration and plays it, as many at a
// time as there are processors. The reports come in the order of the
// configurations, each with its seed, whatever was done first.
func Trials(ctx context.Context, configs []invented.Config, o Options) ([]Report, error) {
	var mu sync.Mutex
	if progress := o.Progress; progress != nil {
		o.Progress = func(weeks int) {
			mu.Lock()
			defer mu.Unlock()
			progress(weeks)
		}
	}
	reports := make([]Report, len(configs))
	all, ctx := errgroup.WithContext(ctx)
	all.SetLimit(runtime.GOMAXPROCS(0))
	for i, c := range configs {
		all.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			r, err := Run(ctx, Invented(invented.Make(c)), o)
			if err != nil {
				return fmt.Errorf("the workshop of seed %d: %w", c.Seed, err)
			}
			r.Seed = c.Seed
			reports[i] = r
			return nil
		})
	}
	if err := all.Wait(); err != nil {
		return nil, err
	}
	return reports, nil
}
