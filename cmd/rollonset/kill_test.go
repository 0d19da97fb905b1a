package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"rollonset/ingest/profile"
	"rollonset/sampledata/synth"
)

// kills is how often the batch is killed; a soak takes some hundreds:
// go test ./cmd/rollonset -run Killed -kills 300 -timeout 1h
var kills = flag.Int("kills", 4, "how often TestKilled kills the batch")

func asCommand(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self, args...)
	cmd.Env = append(os.Environ(), asProgram+"=1")
	return cmd
}

// TestKilled kills the batch at random instants, with several worker counts,
// and starts it again each time. In the end the archive holds the bytes of an
// undisturbed run, and whoever reads meanwhile sees whole files only.
func TestKilled(t *testing.T) {
	recordings := t.TempDir()
	makeFlights(t, recordings, 40)
	args := func(dir string, workers int) []string {
		return []string{
			"process", filepath.Join(recordings, synth.RecordingsDir), "--profiles", "../../sampledata/fleet",
			"--flights", filepath.Join(recordings, synth.ListFile), "--archive", dir, "--workers", strconv.Itoa(workers),
		}
	}
	calm := filepath.Join(t.TempDir(), "calm")
	start := time.Now()
	if out, err := asCommand(t, args(calm, 2)...).CombinedOutput(); err != nil {
		t.Fatalf("undisturbed run: %v\n%s", err, out)
	}
	whole := time.Since(start)

	rnd := rand.New(rand.NewPCG(20310307, 1))
	disturbed := filepath.Join(t.TempDir(), "disturbed")
	ctx, stop := context.WithCancel(context.Background())
	var seen atomic.Int64
	torn := make(chan error, 1)
	go func() { torn <- poll(ctx, &disturbed, &seen) }()
	landed := 0
	for i := range *kills {
		if i > 0 && i%20 == 0 { // a new archive, so that kills fall on all stages
			// Moved away first, so that no reader sees it half removed.
			away := disturbed + ".away"
			if err := errors.Join(os.Rename(disturbed, away), os.RemoveAll(away)); err != nil {
				t.Fatal(err)
			}
		}
		cmd := asCommand(t, args(disturbed, 1+i%4)...)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(rnd.Int64N(int64(whole))))
		if cmd.Process.Kill() == nil {
			landed++
		}
		_ = cmd.Wait()
	}
	if out, err := asCommand(t, args(disturbed, 3)...).CombinedOutput(); err != nil {
		t.Fatalf("last run: %v\n%s", err, out)
	}
	stop()
	if err := <-torn; err != nil {
		t.Error(err)
	}
	t.Logf("%d kills, %d whole summaries read meanwhile", landed, seen.Load())
	sameArchive(t, calm, disturbed)
}

func makeFlights(t *testing.T, dir string, n int) {
	t.Helper()
	profiles, err := profile.LoadDir("../../sampledata/fleet")
	if err != nil {
		t.Fatal(err)
	}
	if err := synth.Flights(synth.Options{N: n, Seed: 11}, profiles, dir); err != nil {
		t.Fatal(err)
	}
}

// poll reads whatever summaries it finds until ctx is done; one that is not
// whole JSON, or names a clip that is not there, is torn.
func poll(ctx context.Context, dir *string, seen *atomic.Int64) error {
	for ctx.Err() == nil {
		err := filepath.WalkDir(*dir, func(p string, d fs.DirEntry, err error) error {
			if err != nil || d.Name() != "summary.json" {
				return nil // folders come and go
			}
			text, err := os.ReadFile(p)
			if err != nil {
				return nil
			}
			var s struct {
				Key  string `json:"key"`
				Clip *struct {
					File string `json:"file"`
				} `json:"clip"`
			}
			if err := json.Unmarshal(text, &s); err != nil {
				return errors.New(p + " is torn: " + err.Error())
			}
			if s.Clip != nil {
				_, clip := os.Stat(filepath.Join(filepath.Dir(p), s.Clip.File))
				_, still := os.Stat(p)
				if clip != nil && still == nil {
					return errors.New(p + " names a clip that is not there")
				}
			}
			seen.Add(1)
			return nil
		})
		if err != nil {
			return err
		}
		time.Sleep(5 * time.Millisecond)
	}
	return nil
}

// sameArchive compares two archives byte by byte; locks and the times of day
// in the run records are no results.
func sameArchive(t *testing.T, a, b string) {
	t.Helper()
	left, right := files(t, a), files(t, b)
	for name, text := range left {
		other, ok := right[name]
		switch {
		case !ok:
			t.Errorf("%s is missing after the kills", name)
		case strings.HasPrefix(name, "runs/"):
			// Its counts tell processed from done before.
		case !bytes.Equal(text, other):
			t.Errorf("%s differs after the kills", name)
		}
	}
	for name := range right {
		if _, ok := left[name]; !ok {
			t.Errorf("%s is left over after the kills", name)
		}
	}
}

func files(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	err := filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && d.Name() == ".locks" {
			return filepath.SkipDir
		}
		if d.IsDir() {
			return nil
		}
		rel, err := filepath.Rel(dir, p)
		if err != nil {
			return err
		}
		out[filepath.ToSlash(rel)], err = os.ReadFile(p)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
