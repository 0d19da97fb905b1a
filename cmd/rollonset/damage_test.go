//go:build unix

package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
)

// damaged is how many damaged recordings are processed; a soak takes thousands:
// go test ./cmd/rollonset -run DamagedRecordings -damaged 10000 -timeout 2h
var damaged = flag.Int("damaged", 92, "how many damaged recordings TestDamagedRecordings processes")

// placed is a message that names where in the file something is wrong: a byte,
// a line, a column, a row, a row group or another part of the container.
var placed = regexp.MustCompile(`(byte|line|column|record batch|footer|page|header|message|block|schema|offset|file is empty|first row|after row|frame|dictionary)`)

// TestDamagedRecordings cuts, flips and blanks bytes of the sample night's
// recordings, which have every format, and processes them as a batch does: no
// panic, no hang, bounded memory, and for each that cannot be read a sentence
// that says where.
func TestDamagedRecordings(t *testing.T) {
	files, err := filepath.Glob("../../sampledata/night/recordings/*")
	if err != nil || len(files) == 0 {
		t.Fatal("no recordings", err)
	}
	rnd := rand.New(rand.NewPCG(20310307, 7))
	var sum damageSum
	// So few that on a free machine a batch takes less than a recording may, 5 s.
	const batch = 46
	for done := 0; done < *damaged; done += batch {
		dir := t.TempDir()
		for i := done; i < min(done+batch, *damaged); i++ {
			text, err := os.ReadFile(files[i%len(files)])
			if err != nil {
				t.Fatal(err)
			}
			kind, text := damage(rnd, text)
			name := fmt.Sprintf("%05d-%s-%s", i, kind, filepath.Base(files[i%len(files)]))
			if err := os.WriteFile(filepath.Join(dir, name), text, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		sum.process(t, dir)
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
	}
	if n := sum.read + sum.unreadable; n != *damaged {
		t.Errorf("%d recordings accounted for of %d", n, *damaged)
	}
	t.Logf("%d damaged: %d read, %d unreadable; longest batch %v; most memory %d MiB", *damaged, sum.read, sum.unreadable, sum.longest.Round(time.Millisecond), sum.memory>>20)
	if sum.memory > 512<<20 {
		t.Errorf("resident memory %d MiB", sum.memory>>20)
	}
	// A hang; the soak is read for the figure, which a busy machine stretches.
	if sum.longest > time.Minute {
		t.Errorf("a batch took %v", sum.longest)
	}
}

// damage changes the bytes of a recording in one of five ways.
func damage(rnd *rand.Rand, text []byte) (kind string, out []byte) {
	at := rnd.IntN(len(text))
	switch rnd.IntN(5) {
	case 0:
		return "cut", text[:at]
	case 1:
		text[at] ^= byte(1 + rnd.IntN(255))
		return "flip", text
	case 2: // where the containers keep their structure
		edge := min(len(text), 600)
		at = rnd.IntN(edge)
		if rnd.IntN(2) == 0 {
			at = len(text) - 1 - at
		}
		text[at] ^= byte(1 + rnd.IntN(255))
		return "edge", text
	case 3:
		clear(text[at:min(at+64, len(text))])
		return "zeros", text
	default:
		end := min(at+1+rnd.IntN(200), len(text))
		return "hole", append(text[:at:at], text[end:]...)
	}
}

type damageSum struct {
	read, unreadable int
	longest          time.Duration // of a batch
	memory           int64         // bytes, the most of all batches
}

// process runs the command over the folder and reads its account line by line.
func (s *damageSum) process(t *testing.T, dir string) {
	t.Helper()
	cmd := asCommand(t, "process", dir, "--profiles", "../../sampledata/fleet", "--archive", t.TempDir()+"/a", "--format", "json", "--pages", "none")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewReaderSize(out, 1<<20)
	start := time.Now()
	for {
		line, err := lines.ReadBytes('\n')
		if len(line) == 0 && err != nil {
			break
		}
		s.line(t, line)
	}
	err = cmd.Wait()
	s.longest = max(s.longest, time.Since(start))
	if code := (&exec.ExitError{}); err != nil && (!errors.As(err, &code) || code.ExitCode() != 3) {
		t.Errorf("the batch ended with %v\n%s", err, stderr.String())
	}
	if text := stderr.String(); strings.Contains(text, "goroutine ") || strings.Contains(text, "panic") {
		t.Errorf("a panic:\n%s", text)
	}
	usage, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage)
	if !ok {
		t.Fatal("no figures of the process")
	}
	used := int64(usage.Maxrss) // KiB, but bytes on macOS
	if runtime.GOOS != "darwin" {
		used <<= 10
	}
	s.memory = max(s.memory, used)
}

// line takes one recording's line.
func (s *damageSum) line(t *testing.T, line []byte) {
	t.Helper()
	var r struct{ File, Status, Problem, Remedy string }
	if err := json.Unmarshal(line, &r); err != nil {
		t.Fatalf("%v: %.200s", err, line)
	}
	switch r.Status {
	case "processed":
		s.read++
	case "unreadable":
		s.unreadable++
		cause, ok := strings.CutPrefix(r.Problem, r.File)
		switch {
		case !ok:
			t.Errorf("%s: the message does not begin with the file: %s", r.File, r.Problem)
		case !placed.MatchString(cause):
			t.Errorf("%s: the message names no place: %s; %s", r.File, r.Problem, r.Remedy)
		case r.Remedy == "":
			t.Errorf("%s: no remedy: %s", r.File, r.Problem)
		}
	default:
		t.Errorf("%s: status %q", r.File, r.Status)
	}
}
