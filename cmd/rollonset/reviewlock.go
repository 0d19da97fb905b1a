package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/gofrs/flock"

	"rollonset/cmd/internal/batch"
)

// holdChains waits for its turn to write to a chain, of reviews or of look-ups:
// each line carries the hash of the one before, so two must not append at once.
// It is not the lock of the archive, so that nobody need wait for a batch.
func holdChains(dir string) (func(), error) {
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
