package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"rollonset/ingest/profile"
	"rollonset/sampledata/synth"
)

// synthOptions are the flags of synth.
type synthOptions struct {
	flights    int
	first      int
	seed       uint64
	to         string
	profiles   string
	difficulty string
	types      []string
	formats    []string
	night      bool
}

func newSynth() *cobra.Command {
	o := synthOptions{}
	cmd := &cobra.Command{
		Use:   "synth --profiles DIR --to DIR",
		Short: "Make recordings of simulated takeoffs whose answer is known",
		Long: `synth simulates flights of the invented fleet, records them as a recorder
would, and writes beside the recordings the flight list and what really
happened (truth.csv), for score to compare with. The same seed gives the same
bytes on any machine.

` + exitWords,
		Args: exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error { return o.run(cmd) },
	}
	f := cmd.Flags()
	f.IntVar(&o.flights, "flights", 100, "how many flights to make")
	f.IntVar(&o.first, "first", 0, "index of the first flight: --first 790 --flights 1 makes that one of a larger set alone")
	f.Uint64Var(&o.seed, "seed", 1, "seed of the random numbers")
	f.StringVar(&o.to, "to", "", "folder to write to, made when missing (required)")
	f.StringVar(&o.profiles, "profiles", "", "folder with the profiles of the invented fleet (required)")
	f.StringVar(&o.difficulty, "difficulty", "plain", strings.Join(difficulties(), " or "))
	f.StringSliceVar(&o.types, "types", nil, "names of profiles to use (default all)")
	f.StringSliceVar(&o.formats, "formats", nil, "containers: "+strings.Join(formats(), " ")+" (default all)")
	f.BoolVar(&o.night, "night", false, "make the sample night instead: the same flights always")
	return cmd
}

func difficulties() []string {
	var out []string
	for _, d := range synth.Difficulties() {
		out = append(out, d.String())
	}
	return out
}

func formats() []string {
	var out []string
	for _, f := range synth.Formats() {
		out = append(out, strings.TrimPrefix(string(f), "."))
	}
	return out
}

func (o *synthOptions) run(cmd *cobra.Command) error {
	opt := synth.Options{N: o.flights, First: o.first, Seed: o.seed, Types: o.types}
	switch {
	case o.to == "":
		return usagef("--to is missing: name the folder to write to")
	case o.profiles == "":
		return usagef("--profiles is missing: name the folder with the fleet's profiles, sampledata/fleet in a clone")
	case o.flights < 1:
		return usagef("--flights %d: at least 1 is needed", o.flights)
	case o.first < 0:
		return usagef("--first %d: the first flight has the index 0", o.first)
	}
	var err error
	if opt.Difficulty, err = parseDifficulty(o.difficulty); err != nil {
		return err
	}
	if opt.Formats, err = parseFormats(o.formats); err != nil {
		return err
	}
	profiles, err := profile.LoadDir(o.profiles)
	if err != nil {
		return err
	}
	if o.night {
		err = synth.Night(profiles, o.to)
	} else {
		err = synth.Flights(opt, profiles, o.to)
	}
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "Recordings, %s and %s are in %s.\n", synth.ListFile, synth.TruthFile, o.to)
	return err
}

func parseDifficulty(word string) (synth.Difficulty, error) {
	for _, d := range synth.Difficulties() {
		if d.String() == word {
			return d, nil
		}
	}
	return 0, usagef("--difficulty %q: choose %s", word, strings.Join(difficulties(), " or "))
}

func parseFormats(words []string) ([]synth.Format, error) {
	var out []synth.Format
	for _, w := range words {
		found := false
		for _, f := range synth.Formats() {
			if strings.TrimPrefix(string(f), ".") == strings.TrimPrefix(w, ".") {
				out, found = append(out, f), true
			}
		}
		if !found {
			return nil, usagef("--formats %q: choose among %s", w, strings.Join(formats(), " "))
		}
	}
	return out, nil
}
