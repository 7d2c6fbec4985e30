//go:build unix

package local

import (
	"context"
	"fmt"
)

func (s site) fetched(major int) string { return "" }

func (s site) programs(ctx context.Context, major int) (programs, error) {
	p, unfit, ok := s.installed(ctx, major)
	if ok {
		return p, nil
	}
	return p, fmt.Errorf("%w: %v", ErrNoServer, unfit)
}
