package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/gofrs/flock"

	"rollonset/cmd/internal/batch"
)

// holdReviews waits for its turn to write to the chain of reviews: each line
// carries the hash of the one before, so two must not append at once. It is
// not the lock of the archive, so that a review need not wait for a batch.
func holdReviews(dir string) (func(), error) {
	locks := filepath.Join(dir, batch.LocksDir)
	if err := os.MkdirAll(locks, 0o750); err != nil {
		return nil, fmt.Errorf("locking the reviews: %w", err)
	}
	l := flock.New(filepath.Join(locks, "reviews"))
	if err := l.Lock(); err != nil {
		return nil, fmt.Errorf("locking the reviews of %s: %w; check that the folder can be written to", dir, err)
	}
	return func() { _ = l.Unlock() }, nil
}
