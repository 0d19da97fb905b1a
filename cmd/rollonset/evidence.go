package main

import (
	"crypto/rand"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"rollonset/report/archive"
	"rollonset/report/evidence"
	"rollonset/report/page"
)

// coverOptions are the flags of every command that covers identity.
type coverOptions struct {
	keyFile  string
	smallest int
	places   bool
}

func (o *coverOptions) flags(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&o.keyFile, "key-file", "", "the operator's key for pseudonyms; keep it outside the archive")
	f.IntVar(&o.smallest, "smallest", evidence.Smallest, "months, types and aircraft with fewer flights are merged into \"other\"")
	f.BoolVar(&o.places, "places", false, "give pseudonyms to aerodromes and runways instead of leaving them out; how often each occurs may tell which it is")
}

// cover reads the key and counts the groups of the given months, nil for all.
// The folders are those in which the key must not lie.
func (o *coverOptions) cover(a *archive.Archive, months []string, folders ...string) (evidence.Cover, error) {
	switch {
	case o.keyFile == "":
		return evidence.Cover{}, usagef("--key-file is missing: name the operator's key; make one with `rollonset share --make-key FILE`")
	case o.smallest < 1:
		return evidence.Cover{}, usagef("--smallest %d: at least 1 is needed", o.smallest)
	}
	if err := evidence.KeepOutside(o.keyFile, append([]string{a.Dir()}, folders...)...); err != nil {
		return evidence.Cover{}, err
	}
	key, err := evidence.ReadKey(o.keyFile)
	if err != nil {
		return evidence.Cover{}, err
	}
	census, err := evidence.CensusOf(a, months)
	if err != nil {
		return evidence.Cover{}, err
	}
	return evidence.Cover{Key: key, Groups: census.Groups(o.smallest), Places: o.places}, nil
}

// evidenceOptions are the flags of evidence.
type evidenceOptions struct {
	coverOptions
	to, sign, makeKey   string
	deidentify, remarks bool
	reviews             map[string][]page.Review // by the key of the flight in the bundle
}

func newEvidence() *cobra.Command {
	o := evidenceOptions{}
	cmd := &cobra.Command{
		Use:   "evidence ARCHIVE EVENT... --to FILE.zip",
		Short: "Write events with all that proves them into one zip for somebody else",
		Long: `evidence writes a bundle: for each event the page, the samples as Parquet and as
CSV, the profile, the summary, and a list of hashes that ` + "`sha256sum -c`" + ` checks
without this program. The whole flight of an event goes with it. With --sign the
list is signed (Ed25519). With --deidentify it shows nobody who flew, when or
where: pseudonyms under the operator's key, the month, times from the onset.

    rollonset evidence --make-key FILE    makes a key for --sign, and FILE.pub

` + archive.Caution + "\n\n" + exitWords,
		Args: func(_ *cobra.Command, args []string) error {
			if o.makeKey == "" && len(args) < 2 {
				return usagef("name an archive and at least one event")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if o.makeKey != "" {
				return o.newKey(cmd.OutOrStdout())
			}
			return o.run(cmd.OutOrStdout(), args[0], args[1:])
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.to, "to", "", "the zip to write (required)")
	f.StringVar(&o.sign, "sign", "", "private key (PEM PKCS #8, Ed25519) to sign with")
	f.StringVar(&o.makeKey, "make-key", "", "make a key for --sign in a new file, and do nothing else")
	f.BoolVar(&o.deidentify, "deidentify", false, "cover identity; needs --key-file")
	f.BoolVar(&o.remarks, "remarks", false, "with --deidentify: keep the reasons that reviewers wrote; read them first, anybody may be named in them")
	o.flags(cmd)
	return cmd
}

func (o *evidenceOptions) newKey(w io.Writer) error {
	if err := evidence.MakeSigner(o.makeKey, rand.Reader); err != nil {
		return err
	}
	key, err := evidence.ReadPublic(o.makeKey + ".pub")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "%s signs; keep it secret. %s.pub verifies; give it to those who verify.\nFingerprint of the public key: %s\n", o.makeKey, o.makeKey, evidence.Fingerprint(key))
	return err
}

func (o *evidenceOptions) run(w io.Writer, dir string, names []string) error {
	switch {
	case o.to == "":
		return usagef("--to is missing: name the zip to write")
	case o.keyFile != "" && !o.deidentify:
		return usagef("--key-file is for --deidentify, which is missing")
	}
	a, err := archive.Open(dir)
	if err != nil {
		return err
	}
	wanted, err := wantedFlights(a, names)
	if err != nil {
		return err
	}
	b := evidence.BundleOptions{Versions: versions(), Deidentified: o.deidentify, Page: o.page}
	if o.sign != "" {
		if err := evidence.KeepOutside(o.sign, dir); err != nil {
			return err
		}
		if b.Signer, err = evidence.ReadSigner(o.sign); err != nil {
			return err
		}
	}
	parts, err := o.parts(a, wanted, &b)
	if err != nil {
		return err
	}
	if err := archive.WriteFile(o.to, func(w io.Writer) error { return evidence.WriteBundle(w, parts, b) }); err != nil {
		return err
	}
	for _, p := range parts {
		for i := range p.Flight.Summary.Attempts {
			t := &p.Flight.Summary.Attempts[i]
			fmt.Fprintf(w, "%s  %s\n", t.ID, page.Headline(*t))
		}
	}
	_, err = fmt.Fprintf(w, "%s holds %s; verify it with `rollonset verify %s`, or unpacked with `sha256sum -c SHA256SUMS`\n", o.to, plural(len(parts), "flight"), o.to)
	return err
}

// wantedFlight is a flight with the attempts that were named; none stands for
// all.
type wantedFlight struct {
	summary archive.Summary
	numbers []int
}

// wantedFlights resolves what was typed, in the order it was typed, each
// flight once.
func wantedFlights(a *archive.Archive, names []string) ([]wantedFlight, error) {
	var out []wantedFlight
	for _, name := range names {
		found, err := a.Find(name)
		if err != nil {
			return nil, err
		}
		at := slices.IndexFunc(out, func(f wantedFlight) bool { return f.summary.Key == found.Summary.Key })
		if at < 0 {
			at = len(out)
			out = append(out, wantedFlight{summary: found.Summary})
		} else if out[at].numbers == nil {
			continue // the whole flight already
		}
		if found.Attempt == nil {
			out[at].numbers = nil
			continue
		}
		out[at].numbers = append(out[at].numbers, found.Attempt.Number)
	}
	return out, nil
}

// parts loads the flights and covers them if that was asked for. What must not
// be found in the bundle is put into its options.
func (o *evidenceOptions) parts(a *archive.Archive, wanted []wantedFlight, b *evidence.BundleOptions) ([]evidence.Part, error) {
	var cover evidence.Cover
	if o.deidentify {
		var months []string
		for _, f := range wanted {
			months = append(months, evidence.Month(f.summary.Flight.Date))
		}
		var err error
		if cover, err = o.cover(a, months); err != nil {
			return nil, err
		}
		b.Forbidden = &evidence.Words{}
	}
	reviews, err := a.Reviews()
	if err != nil {
		return nil, err
	}
	o.reviews = map[string][]page.Review{}
	var parts []evidence.Part
	for _, want := range wanted {
		f, err := evidence.Load(a, want.summary)
		if err != nil {
			return nil, err
		}
		if !o.deidentify {
			o.reviews[want.summary.Key] = o.reviewsOf(&want.summary, &want.summary, nil, reviews)
			parts = append(parts, evidence.Part{Flight: f, Events: eventIDs(want), From: a})
			continue
		}
		b.Forbidden.Add(want.summary)
		copies, err := cover.Deidentify(f, b.Versions, want.numbers)
		if err != nil {
			return nil, err
		}
		for _, c := range copies {
			o.reviews[c.Summary.Key] = o.reviewsOf(&want.summary, &c.Summary, c.Was, reviews)
			parts = append(parts, evidence.Part{Flight: c})
		}
	}
	return parts, nil
}

func eventIDs(want wantedFlight) []string {
	var ids []string
	for _, n := range want.numbers {
		ids = append(ids, archive.AttemptID(want.summary.Key, n))
	}
	return ids
}

// reviewsOf are the decisions about a flight as its page in the bundle shows
// them. Of a de-identified one the reasons are left out unless they were asked
// for, and of the time of a decision only the month is told, because events
// are reviewed on the morning after. was maps its attempts to the original's.
func (o *evidenceOptions) reviewsOf(original, shown *archive.Summary, was []int, reviews *archive.Reviews) []page.Review {
	var out []page.Review
	for i := range shown.Attempts {
		number := shown.Attempts[i].Number
		if o.deidentify {
			number = was[i]
		}
		for _, e := range archive.EventsOf(original, number, reviews) {
			for _, r := range e.Reviews {
				line := page.Review{Event: shown.Attempts[i].ID + " " + e.Check, Decision: r.Decision, Role: r.Role, Time: r.Time, Reason: r.Reason}
				if o.deidentify {
					line.Time = r.Time[:min(len("2031-03"), len(r.Time))]
				}
				if o.deidentify && !o.remarks {
					line.Reason = "left out"
				}
				out = append(out, line)
			}
		}
	}
	return out
}

// page draws the page of a flight of a bundle.
func (o *evidenceOptions) page(w io.Writer, f evidence.Flight) error {
	return page.Flight(w, f.Summary, f.Clip, page.Options{
		Levels: page.Levels(f.Profile), Reviews: o.reviews[f.Summary.Key],
		Commands: []page.Command{
			{For: "Check that nothing was changed, in the folder where the zip was unpacked", Line: "sha256sum -c SHA256SUMS"},
			{For: "Derive the findings again, in the folder of this page", Line: "rollonset process " + archive.ClipFile + " --profiles . --archive NEW"},
		},
	})
}

// archivePage draws the page of a flight that retention has reduced.
func archivePage(w io.Writer, f evidence.Flight) error {
	return page.Flight(w, f.Summary, f.Clip, page.Options{Levels: page.Levels(f.Profile)})
}
