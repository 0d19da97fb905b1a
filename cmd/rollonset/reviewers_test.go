package main

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"rollonset/report/archive"
	"rollonset/report/evidence"
	"rollonset/sampledata/synth"
)

// reviewable is an archive of a few flights and the attempts with an event.
func reviewable(t *testing.T) (string, []string) {
	t.Helper()
	recordings := t.TempDir()
	makeFlights(t, recordings, 12)
	dir := filepath.Join(t.TempDir(), "a")
	command(t, "process", filepath.Join(recordings, synth.RecordingsDir), "--profiles", "../../sampledata/fleet", "--archive", dir)
	a, err := archive.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for e, err := range a.Events(archive.ParseReviews(nil)) {
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, e.Attempt.ID)
	}
	if len(ids) == 0 {
		t.Fatal("no flight has an event")
	}
	return dir, slices.Compact(ids)
}

// TestReviewersAtOnce lets several processes review at the same time and kills
// some in the middle. Every review that was acknowledged is in the chain, the
// chain is whole, and the pages and the rest of the archive are as they were.
func TestReviewersAtOnce(t *testing.T) {
	dir, ids := reviewable(t)
	const reviewers, each = 3, 5
	var mu sync.Mutex
	acknowledged := map[string]bool{}
	killed := 0
	var wg sync.WaitGroup
	for r := range reviewers {
		rnd := rand.New(rand.NewPCG(uint64(r), 7))
		wg.Go(func() {
			for k := range each {
				reason := fmt.Sprintf("reviewer %d, remark %d", r, k)
				cmd := asCommand(t, "review", dir, ids[rnd.IntN(len(ids))], "valid", "--reason", reason)
				if err := cmd.Start(); err != nil {
					t.Error(err)
					return
				}
				if r == 0 { // one of them is shot at random instants
					time.Sleep(time.Duration(rnd.Int64N(int64(120 * time.Millisecond))))
					_ = cmd.Process.Kill()
				}
				err := cmd.Wait()
				mu.Lock()
				if err == nil {
					acknowledged[reason] = true
				} else {
					killed++
				}
				mu.Unlock()
				if err != nil && r != 0 {
					t.Errorf("%s: %v", reason, err)
				}
			}
		})
	}
	wg.Wait()
	command(t, "review", dir, ids[0], "valid", "--reason", "the last")
	acknowledged["the last"] = true
	a, err := archive.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	got, err := a.Reviews()
	if err != nil || got.Whole() != nil || got.Torn {
		t.Fatalf("the chain: %v, %v, torn %v", err, got.Whole(), got.Torn)
	}
	seen := map[string]bool{}
	for _, l := range got.Lines {
		seen[l.Reason] = true
	}
	for reason := range acknowledged {
		if !seen[reason] {
			t.Errorf("%s was acknowledged and is lost", reason)
		}
	}
	t.Logf("%d acknowledged, %d killed, %d lines, notes %q", len(acknowledged), killed, len(got.Lines), got.Notes)
	v, err := evidence.Verify(a, evidence.VerifyOptions{})
	if err != nil || len(v.Differences) > 0 {
		t.Errorf("verify: %v, %v", v, err)
	}
}
