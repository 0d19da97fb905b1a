package batch

import (
	"context"
	"fmt"
	"runtime/debug"

	"golang.org/x/sync/errgroup"
)

// Each calls do for every i below n with some workers at a time. The first
// error ends it, as does the end of the context; a panic becomes an error.
func Each(ctx context.Context, workers, n int, do func(i int) error) error {
	g, inner := errgroup.WithContext(ctx)
	g.SetLimit(max(workers, 1))
	for i := range n {
		if inner.Err() != nil {
			break
		}
		g.Go(func() (err error) {
			defer func() {
				if p := recover(); p != nil {
					err = fmt.Errorf("the program failed: %v; please report it\n%s", p, debug.Stack())
				}
			}()
			if inner.Err() != nil {
				return inner.Err()
			}
			return do(i)
		})
	}
	if err := g.Wait(); err != nil {
		return err
	}
	return ctx.Err()
}
