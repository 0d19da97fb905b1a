package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"strings"

	"github.com/spf13/cobra"

	"rollonset/cmd/internal/batch"
	"rollonset/report/archive"
	"rollonset/report/evidence"
)

// verifyOptions are the flags of verify.
type verifyOptions struct {
	recordings []string
	noted      []string
	format     string
	workers    int
}

func newVerify() *cobra.Command {
	o := verifyOptions{}
	cmd := &cobra.Command{
		Use:   "verify ARCHIVE|BUNDLE.zip",
		Short: "Compute every hash of an archive or a bundle anew and say what differs",
		Long: `verify computes every hash of an archive anew: profiles, clips, summaries,
pages, tables (and their rows from the summaries), run records, the chain of
reviews, and the recordings where they are at hand. A bundle that evidence
wrote is held to its list of hashes and its signature. What differs is named
file by file, and the exit code is 4.

A hash tells that something changed, not who changed it: somebody who may write
to the archive can compute the hashes anew, and cut off the end of a chain
together with the file of its head. Where that matters, note the heads that
verify prints outside the archive and give them to --noted later, keep the last
line of the account of a run elsewhere, or sign bundles.

` + exitWords,
		Args: exactly(1, "one archive or bundle"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if o.format != "text" && o.format != "json" {
				return usagef("--format %q: choose text or json", o.format)
			}
			if o.workers < 1 {
				return usagef("--workers %d: at least 1 is needed", o.workers)
			}
			if info, err := os.Stat(args[0]); err == nil && info.Mode().IsRegular() {
				return o.bundle(cmd.OutOrStdout(), args[0])
			}
			return o.archive(cmd.Context(), cmd.OutOrStdout(), args[0])
		},
	}
	f := cmd.Flags()
	f.StringSliceVar(&o.recordings, "recordings", nil, "folders or files in which the recordings lie, to compare them too")
	f.StringArrayVar(&o.noted, "noted", nil, "a head that verify printed earlier, \"reviews.jsonl 12 HASH\"; the chain must still go through it (repeatable)")
	f.StringVar(&o.format, "format", "text", "text or json")
	f.IntVar(&o.workers, "workers", runtime.NumCPU(), "files to work on at the same time")
	return cmd
}

func (o *verifyOptions) archive(ctx context.Context, w io.Writer, dir string) error {
	a, err := archive.Open(dir)
	if err != nil {
		return err
	}
	unlock, err := waitForNobody(dir)
	if err != nil {
		return err
	}
	defer unlock()
	opt := evidence.VerifyOptions{}
	for _, p := range o.recordings {
		if _, err := os.Stat(p); err != nil {
			return fmt.Errorf("--recordings: %w", err)
		}
		opt.Recordings = append(opt.Recordings, batch.Discover([]string{p}).Recordings...)
	}
	for _, text := range o.noted {
		n, err := evidence.ParseNoted(text)
		if err != nil {
			return usagef("--noted: %v", err)
		}
		opt.Noted = append(opt.Noted, n)
	}
	var failed error
	opt.Each = func(n int, do func(int)) {
		failed = errors.Join(failed, batch.Each(ctx, o.workers, n, func(i int) error { do(i); return nil }))
	}
	v, err := evidence.Verify(a, opt)
	if err = errors.Join(err, failed); err != nil {
		return err
	}
	if o.format == "json" {
		return o.json(w, dir, v.Differences, v.Notes, v.Heads)
	}
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s: %s, %s, %s, %s, %s, %s, %s, %s.\n", dir,
		plural(v.Flights, "flight"), plural(v.Clips, "clip"), plural(v.Pages, "page"), plural(v.Profiles, "profile"),
		plural(v.Runs, "run record"), plural(v.Tables, "table"), plural(v.Reviews, "review"), plural(v.Lookups, "lookup file"))
	if len(o.recordings) > 0 {
		fmt.Fprintf(b, "%s compared; %d not at hand.\n", plural(v.Recordings, "recording"), v.NotAtHand)
	}
	for _, h := range v.Heads {
		fmt.Fprintf(b, "  head: %s\n", h)
	}
	return verdict(w, b, v.Differences, v.Notes)
}

// verdict prints differences and notes behind what is in b.
func verdict(w io.Writer, b *strings.Builder, differences []evidence.Difference, notes []string) error {
	for _, d := range differences {
		fmt.Fprintf(b, "  differs: %s\n", d)
	}
	for _, n := range notes {
		fmt.Fprintf(b, "  note: %s\n", n)
	}
	if len(differences) == 0 {
		b.WriteString("Nothing differs.\n")
	} else {
		fmt.Fprintf(b, "%s.\n", plural(len(differences), "difference"))
	}
	if _, err := io.WriteString(w, b.String()); err != nil {
		return err
	}
	if len(differences) > 0 {
		return errDifferent
	}
	return nil
}

// bundle holds a bundle to its own manifest.
func (o *verifyOptions) bundle(w io.Writer, file string) error {
	found, err := evidence.CheckBundle(file)
	if err != nil {
		return err
	}
	signer, err := evidence.BundleSigner(file)
	if err != nil {
		found = append(found, evidence.Difference{Where: file, What: "has a signature that cannot be read: " + err.Error()})
	}
	note := "it is not signed"
	if signer != "" {
		note = "it is signed by the key with the fingerprint " + signer + "; ask whose that is"
	}
	if o.format == "json" {
		return o.json(w, file, found, []string{note}, nil)
	}
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s: a bundle of evidence.\n", file)
	return verdict(w, b, found, []string{note})
}

func (o *verifyOptions) json(w io.Writer, what string, differences []evidence.Difference, notes []string, heads []evidence.NotedHead) error {
	type difference struct {
		File string `json:"file"`
		What string `json:"what"`
	}
	out := struct {
		Of          string       `json:"of"`
		Equal       bool         `json:"equal"`
		Differences []difference `json:"differences"`
		Notes       []string     `json:"notes"`
		Heads       []string     `json:"heads"`
	}{what, len(differences) == 0, []difference{}, append([]string{}, notes...), []string{}}
	for _, h := range heads {
		out.Heads = append(out.Heads, h.String())
	}
	for _, d := range differences {
		out.Differences = append(out.Differences, difference{d.Where, d.What})
	}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(out); err != nil {
		return err
	}
	if len(differences) > 0 {
		return errDifferent
	}
	return nil
}
