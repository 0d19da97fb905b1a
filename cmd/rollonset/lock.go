package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/gofrs/flock"

	"rollonset/cmd/internal/batch"
	"rollonset/report/archive"
)

// isFolder refuses a file where the archive is to be.
func isFolder(dir string) error {
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return fmt.Errorf("--archive %s is a file; name a folder, which is made when it is missing", dir)
	}
	return nil
}

// lockArchive makes sure that one run, or one run a shard, writes at a time.
// The lock file says who holds it, for the message of the one who waits.
func lockArchive(dir string, shard batch.Shard) (func(), error) {
	locks := filepath.Join(dir, batch.LocksDir)
	if err := isFolder(dir); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(locks, 0o750); err != nil {
		return nil, fmt.Errorf("making the archive folder: %w; name one that can be made and written to", err)
	}
	name := "archive"
	if !shard.Whole() {
		name = fmt.Sprintf("shard-%d-of-%d", shard.Index, shard.Of)
	}
	path := filepath.Join(locks, name)
	l := flock.New(path)
	ok, err := l.TryLock()
	if err != nil {
		return nil, fmt.Errorf("locking the archive %s: %w; check that the folder can be written to", dir, err)
	}
	if !ok {
		return nil, fmt.Errorf("another run is writing to the archive %s%s; wait for it or name another archive", dir, holder(path))
	}
	host, _ := os.Hostname()
	note := fmt.Sprintf("process %d on %s since %s", os.Getpid(), host, time.Now().UTC().Format(time.RFC3339))
	// The note only helps a person; a lock without one still locks.
	_ = os.WriteFile(path, []byte(note), 0o640)
	return func() { _ = l.Unlock() }, nil
}

// waitForNobody makes sure that no run writes while the archive is read as a
// whole. An archive that cannot be locked, such as one on a medium that is only
// read, is not being written to either.
func waitForNobody(dir string) (func(), error) {
	if _, err := os.Stat(filepath.Join(dir, batch.LocksDir, "archive")); err != nil {
		return func() {}, nil
	}
	unlock, free := archiveIsFree(dir)
	if !free {
		return nil, fmt.Errorf("a run is writing to the archive %s%s; wait for it", dir, holder(filepath.Join(dir, batch.LocksDir, "archive")))
	}
	return unlock, nil
}

// archiveIsFree takes the lock of the archive if no run holds it. Where there
// can be no lock there is no run either.
func archiveIsFree(dir string) (unlock func(), free bool) {
	l := flock.New(filepath.Join(dir, batch.LocksDir, "archive"))
	ok, err := l.TryLock()
	if err != nil {
		return func() {}, true
	}
	return func() { _ = l.Unlock() }, ok
}

func holder(path string) string {
	text, err := os.ReadFile(path)
	if err != nil || len(text) == 0 || len(text) > 200 {
		return ""
	}
	return " (" + strings.TrimSpace(string(text)) + ")"
}

// createArchive opens the archive for writing. Shards that start together take
// turns at setting it up.
func createArchive(dir string) (*archive.Archive, error) {
	l := flock.New(filepath.Join(dir, batch.LocksDir, "setup"))
	if err := l.Lock(); err != nil {
		return nil, fmt.Errorf("locking the archive %s: %w; check that the folder can be written to", dir, err)
	}
	defer func() { _ = l.Unlock() }()
	return archive.Create(dir)
}
