package main

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"rollonset/cmd/internal/batch"
	"rollonset/detect"
	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
	"rollonset/report/evidence"
	"rollonset/sampledata"
	"rollonset/sampledata/score"
	"rollonset/sampledata/truth"
)

func newSelftest() *cobra.Command {
	return &cobra.Command{
		Use:   "selftest",
		Short: "Prove on this machine that the program gives the known answers",
		Long: `selftest processes reference recordings that the program carries, whose answers
are known from the simulator that made them, in a temporary folder, and says
what it proved: every attempt, outcome, finding and warning as in the truth, the
instants and measures within their bounds, every finding derived again from its
own clip, and the same bytes with one worker and with several. It ends with 4
when anything differs. It does not prove your profiles: their limits are yours.

` + archive.Caution + "\n\n" + exitWords,
		Args: exactly(0, "nothing more"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			dir, err := os.MkdirTemp("", "rollonset-selftest-")
			if err != nil {
				return fmt.Errorf("making a temporary folder: %w", err)
			}
			defer func() { _ = os.RemoveAll(dir) }()
			return selftest(cmd.Context(), cmd.OutOrStdout(), sampledata.Reference, dir)
		},
	}
}

// proof is one thing that the self-test claims.
type proof struct {
	claim string
	// wrong are the differences that disprove it, nil when it holds.
	wrong []string
}

// selftest runs the reference recordings of a file system in an empty folder
// and prints what holds. The error is errDifferent when something does not.
func selftest(ctx context.Context, w io.Writer, reference fs.FS, dir string) error {
	began := time.Now()
	if err := os.CopyFS(filepath.Join(dir, "reference"), reference); err != nil {
		return fmt.Errorf("unpacking the reference recordings: %w", err)
	}
	proofs, n, err := prove(ctx, dir)
	if err != nil {
		return err
	}
	b := &strings.Builder{}
	fmt.Fprintf(b, "rollonset %s (detection %s), %s/%s: %s in %.1f s\n", program, detect.Version, runtime.GOOS, runtime.GOARCH, plural(n, "reference recording"), time.Since(began).Seconds())
	failed := 0
	for _, p := range proofs {
		word := "holds "
		if len(p.wrong) > 0 {
			word = "DIFFERS"
			failed++
		}
		fmt.Fprintf(b, "  %-7s  %s\n", word, p.claim)
		for _, line := range p.wrong {
			fmt.Fprintf(b, "             %s\n", line)
		}
	}
	if failed > 0 {
		fmt.Fprintf(b, "%s of %d not as it must be: do not use this program on this machine, and report these lines.\n", plural(failed, "claim"), len(proofs))
	} else {
		b.WriteString("Your profiles are not proved by this: check them with `rollonset profile check --strict`.\n")
	}
	if _, err := io.WriteString(w, b.String()); err != nil {
		return err
	}
	if failed > 0 {
		return errDifferent
	}
	return nil
}

// prove processes the recordings twice and gathers the proofs.
func prove(ctx context.Context, dir string) (proofs []proof, recordings int, err error) {
	one, results, err := processReference(ctx, dir, "one", 1)
	if err != nil {
		return nil, 0, err
	}
	unread := proof{claim: fmt.Sprintf("%s read: CSV, Parquet and Arrow, plain and compressed", plural(len(results), "recording"))}
	for _, r := range results {
		if r.Status != batch.Processed {
			unread.wrong = append(unread.wrong, r.Status+": "+r.Problem)
		}
	}
	truths, err := referenceTruth(dir, results)
	if err != nil {
		return nil, 0, err
	}
	report, err := compareWith(one, truths)
	if err != nil {
		return nil, 0, err
	}
	again, err := replayed(one)
	if err != nil {
		return nil, 0, err
	}
	several, _, err := processReference(ctx, dir, "several", 4)
	if err != nil {
		return nil, 0, err
	}
	same, err := sameBytes(one, several)
	if err != nil {
		return nil, 0, err
	}
	return append([]proof{unread}, append(proofsOf(&report), again, same)...), len(results), nil
}

// processReference does what the command process does.
func processReference(ctx context.Context, dir, name string, workers int) (*archive.Archive, []batch.Result, error) {
	at := func(p string) string { return filepath.Join(dir, "reference", filepath.FromSlash(p)) }
	profiles, err := profile.LoadDir(at(sampledata.FleetDir))
	if err != nil {
		return nil, nil, err
	}
	flights, err := ingest.ReadFlightList(at(sampledata.FlightsFile))
	if err != nil {
		return nil, nil, err
	}
	a, err := archive.Create(filepath.Join(dir, name))
	if err != nil {
		return nil, nil, err
	}
	found := batch.Discover([]string{at(sampledata.RecordingsDir)})
	_, results, err := batch.Run(ctx, batch.Job{
		Recordings: found.Recordings, Problems: found.Problems, Profiles: profiles, Flights: flights,
		Archive: a, Workers: workers, Pages: batch.AllPages, Versions: versions(), Command: []string{"selftest"}, Clock: time.Now,
	}, batch.Observer{})
	return a, results, err
}

// referenceTruth is the truth of the recordings that are there; that of the
// sample night tells of more.
func referenceTruth(dir string, results []batch.Result) ([]truth.Attempt, error) {
	name := filepath.Join(dir, "reference", filepath.FromSlash(sampledata.TruthFile))
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("reading the truth: %w", err)
	}
	defer f.Close()
	all, err := truth.Read(f, name)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all, func(t truth.Attempt) bool {
		return !slices.ContainsFunc(results, func(r batch.Result) bool { return filepath.Base(r.File) == t.File })
	}), nil
}

// proofsOf says what the comparison with the truth proves.
func proofsOf(r *score.Report) []proof {
	attempts := proof{claim: fmt.Sprintf("%s found, none missed and none invented", plural(r.Found, "takeoff attempt"))}
	if r.Missed+r.Invented+r.Unread+r.Unknown > 0 || r.Attempts == 0 {
		attempts.wrong = []string{fmt.Sprintf("%d of %d found, %d invented, %d recordings without an answer, %d without a truth", r.Found, r.Attempts, r.Invented, r.Unread, r.Unknown)}
	}
	told, untold := 0, 0
	for i := range r.Kinds {
		told += r.Kinds[i].Hits + r.Kinds[i].Quiet
		untold += r.Kinds[i].RightUntold
	}
	statements := proof{claim: fmt.Sprintf("%d statements on outcome, configuration and warning are as in the truth, and %d rightly say \"cannot be told\"", told, untold)}
	for _, d := range r.Differences {
		statements.wrong = append(statements.wrong, fmt.Sprintf("%s attempt %d at %.1f s: %s is %q, the truth is %q", d.File, d.Attempt, d.Second, d.What, d.Got, d.Want))
	}
	return []proof{attempts, statements, measuresOf(r)}
}

// largestErrors are what no instant or measure may be off by. A dozen
// recordings have no percentiles, so these are bounds for the worst: where
// score allows one in twenty more than 5 m beyond the cut, here it is 10 m.
var largestErrors = []struct {
	measure string
	bound   float64
}{
	{"roll start", 1},
	{"thrust cut", 1},
	{"first action", 1},
	{"peak ground speed", 1},
	{"distance to cut beyond 5 m and 1 %", 10},
	{"distance to stop beyond 5 m and 1 %", 10},
}

// measuresOf says whether the figures lie where they must, and whether every
// stated bracket holds the truth.
func measuresOf(r *score.Report) proof {
	n, p := 0, proof{}
	for i := range r.Measures {
		m := &r.Measures[i]
		n += m.N
		if m.Missing > 0 {
			p.wrong = append(p.wrong, fmt.Sprintf("%s is missing %d times", m.Name, m.Missing))
		}
		if m.Held < m.Brackets {
			p.wrong = append(p.wrong, fmt.Sprintf("%s: %d of %d stated brackets hold the truth", m.Name, m.Held, m.Brackets))
		}
		for _, l := range largestErrors {
			if l.measure == m.Name && m.Max > l.bound {
				p.wrong = append(p.wrong, fmt.Sprintf("%s is off by %.3f %s, the bound is %g", m.Name, m.Max, m.Unit, l.bound))
			}
		}
	}
	p.claim = fmt.Sprintf("%d instants, speeds and distances are off by no more than 1 s, 1 kt and 10 m, and every stated bracket holds the truth", n)
	return p
}

// replayed derives every finding again from its clip.
func replayed(a *archive.Archive) (proof, error) {
	findings, p := 0, proof{}
	for s, err := range a.Summaries() {
		if err != nil {
			return p, err
		}
		r, err := evidence.Replay(a, s, 0)
		if err != nil {
			return p, err
		}
		findings += r.Findings
		for _, d := range r.Differences {
			p.wrong = append(p.wrong, d.String())
		}
	}
	p.claim = fmt.Sprintf("%d findings follow again from the clips alone", findings)
	return p, nil
}

// sameBytes compares the flights of two archives, file by file.
func sameBytes(a, b *archive.Archive) (proof, error) {
	n, p := 0, proof{}
	for folder, err := range a.Folders() {
		if err != nil {
			return p, err
		}
		files, err := os.ReadDir(a.Path(folder))
		if err != nil {
			return p, err
		}
		for _, f := range files {
			name := path.Join(folder, f.Name())
			one, err := os.ReadFile(a.Path(name))
			if err != nil {
				return p, err
			}
			n++
			if other, err := os.ReadFile(b.Path(name)); err != nil || string(one) != string(other) {
				p.wrong = append(p.wrong, name+" differs between one worker and several")
			}
		}
	}
	p.claim = fmt.Sprintf("%d files of results are the same bytes with one worker and with several", n)
	return p, nil
}
