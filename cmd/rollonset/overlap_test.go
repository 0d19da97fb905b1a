package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

// nightFlight is a takeoff of the sample night with the flap lever out of
// limits, thrust advanced at 460.7 s and airborne at 489.1 s; eight rows make
// a second.
const (
	nightFlight = "../../sampledata/night/recordings/20310307T052251_ZZ-J08_MRW107.csv"
	rowsASecond = 8
)

// piece writes the rows of the flight from one second to another, under a name
// with the instant at which they begin. A change makes other bytes of it.
func piece(t *testing.T, dir string, from, to float64, ending string, change func(string) string) string {
	t.Helper()
	text, err := os.ReadFile(nightFlight)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(string(text), "\n")
	head, rows := lines[0], lines[1:]
	out := head + strings.Join(rows[int(from*rowsASecond):min(int(to*rowsASecond), len(rows))], "")
	if change != nil {
		out = change(out)
	}
	begins := time.Date(2031, 3, 7, 5, 22, 51, 0, time.UTC).Add(time.Duration(from) * time.Second)
	file := filepath.Join(dir, begins.Format("20060102T150405")+"_ZZ-J08_MRW107"+ending)
	if err := os.WriteFile(file, []byte(out), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// otherDialect writes the same values with semicolons, decimal commas, quotes
// in the header and the line ends of another system.
func otherDialect(text string) string {
	text = strings.NewReplacer(",", ";", ".", ",", "\n", "\r\n").Replace(text)
	// The clock keeps its point.
	return regexp.MustCompile(`(T\d\d:\d\d:\d\d),`).ReplaceAllString(text, "$1.")
}

func processed(t *testing.T, dir string, args ...string) string {
	t.Helper()
	args = append([]string{"process", "--profiles", "../../sampledata/fleet", "--archive", dir}, args...)
	out, err := asCommand(t, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %v\n%s", args, err, out)
	}
	return string(out)
}

// An attempt that lies in several recordings counts once, wherever the
// recording was cut and however it was exported again.
func TestAttemptInSeveralRecordings(t *testing.T) {
	const end = 1e6
	for _, c := range []struct {
		name  string
		files func(dir string) []string
		says  string
		out   string // what the account says of lift-offs
	}{
		{"cut in the roll", func(d string) []string {
			return []string{piece(t, d, 0, 475, ".csv", nil), piece(t, d, 475, end, ".csv", nil)}
		}, "it goes on in 20310307T053046_ZZ-J08_MRW107.csv", "1 takeoff attempt: 1 lift-off"},
		{"cut in the roll with an overlap in it", func(d string) []string {
			return []string{piece(t, d, 0, 480, ".csv", nil), piece(t, d, 470, end, ".csv", nil)}
		}, "it goes on in 20310307T053041_ZZ-J08_MRW107.csv", "1 takeoff attempt: 1 lift-off"},
		{"the whole roll in both", func(d string) []string {
			return []string{piece(t, d, 0, 495, ".csv", nil), piece(t, d, 440, end, ".csv", nil)}
		}, "also in 2031", "1 takeoff attempt: 1 lift-off"},
		{"exported again in another dialect", func(d string) []string {
			return []string{piece(t, d, 0, end, ".csv", nil), piece(t, d, 0, end, ".txt.csv", otherDialect)}
		}, "also in 2031", "1 takeoff attempt: 1 lift-off"},
		{"renamed so that the tail is lost, in other bytes", func(d string) []string {
			again := piece(t, d, 0, end, ".txt.csv", otherDialect)
			name := filepath.Join(d, "copy.csv")
			if err := os.Rename(again, name); err != nil {
				t.Fatal(err)
			}
			return []string{piece(t, d, 0, end, ".csv", nil), name}
		}, "also in copy.csv", "1 takeoff attempt: 1 lift-off"},
		{"cut behind the lift-off", func(d string) []string {
			return []string{piece(t, d, 0, 489.375, ".csv", nil), piece(t, d, 489.5, end, ".csv", nil)}
		}, "holds what followed", "1 takeoff attempt: 0 lift-offs"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			one := c.files(t.TempDir())
			dir := filepath.Join(t.TempDir(), "archive")
			got := processed(t, dir, one...)
			for _, want := range []string{c.out, c.says, "Events: 3 high"} {
				if !strings.Contains(got, want) {
					t.Errorf("the account does not say %q:\n%s", want, got)
				}
			}
			if out, err := asCommand(t, "verify", dir).CombinedOutput(); err != nil {
				t.Errorf("verify: %v\n%s", err, out)
			}
			page, err := os.ReadFile(filepath.Join(dir, "index.html"))
			if err != nil || !bytes.Contains(page, []byte("Attempts in more than one recording")) || !bytes.Contains(page, []byte("They hold 1 takeoff attempt")) {
				t.Errorf("the night page counts or shows it otherwise: %v", err)
			}
			sameInEveryWay(t, dir, one)
		})
	}
}

// sameInEveryWay makes the archive of the same recordings in shards and in two
// nights, in either order. What does not tell of a run is the same bytes.
func sameInEveryWay(t *testing.T, dir string, recordings []string) {
	t.Helper()
	shards := filepath.Join(t.TempDir(), "shards")
	for i := range 2 {
		processed(t, shards, append([]string{"--shard", strconv.Itoa(i) + "/2"}, recordings...)...)
	}
	if out, err := asCommand(t, "collect", shards).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	sameArchive(t, dir, shards)
	for _, order := range [][]int{{0, 1}, {1, 0}} {
		nights := filepath.Join(t.TempDir(), "nights")
		for _, i := range order {
			processed(t, nights, "--workers", "1", recordings[i])
		}
		got := files(t, nights)
		for name, text := range files(t, dir) {
			if strings.HasPrefix(name, "flights/") && !bytes.Equal(got[name], text) || strings.HasPrefix(name, "tables/sightings/") && !bytes.Equal(got[name], text) {
				t.Errorf("%s differs when the recordings come in two nights, order %v", name, order)
			}
		}
	}
}
