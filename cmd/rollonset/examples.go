package main

import "github.com/spf13/cobra"

// examples are the one example that each command's help gives, by the command's
// path. They stand together so that a test can see that none is missing and that
// each is one that the command understands.
var examples = map[string]string{
	"rollonset":                  "rollonset process recordings --profiles profiles --archive archive",
	"rollonset process":          "rollonset process recordings --profiles profiles --flights flights.csv --archive archive",
	"rollonset collect":          "rollonset collect archive",
	"rollonset show":             "rollonset show archive ZZ-Q07-MRW124",
	"rollonset inspect":          "rollonset inspect night.csv.gz --draft --to profiles/QX40.yaml",
	"rollonset profile":          "rollonset profile language",
	"rollonset profile check":    "rollonset profile check --strict profiles/QX40.yaml",
	"rollonset profile explain":  "rollonset profile explain profiles/QX40.yaml",
	"rollonset profile language": "rollonset profile language",
	"rollonset selftest":         "rollonset selftest",
	"rollonset synth":            "rollonset synth --flights 100 --seed 7 --profiles sampledata/fleet --to flights",
	"rollonset score":            "rollonset score archive --truth sampledata/night/truth.csv",
	"rollonset trends":           "rollonset trends archive --markers actions.csv",
	"rollonset period":           "rollonset period archive --month 2031-03 --to march.html",
	"rollonset whatif":           "rollonset whatif archive --type QX40 --set 'speedbrake lever.max=3'",
	"rollonset verify":           "rollonset verify archive --recordings recordings",
	"rollonset replay":           "rollonset replay archive --all",
	"rollonset review":           "rollonset review archive 2d6550a46c9e-1 nuisance --reason 'ferry flight' --role analyst",
	"rollonset reassess":         "rollonset reassess archive --profiles new --to report",
	"rollonset evidence":         "rollonset evidence archive 2d6550a46c9e-1 --to event.zip",
	"rollonset share":            "rollonset share archive --to shared --key-file key",
	"rollonset retain":           "rollonset retain archive --rules rules.yaml",
	"rollonset brief":            "rollonset brief archive 2d6550a46c9e-1 --to brief.html",
	"rollonset serve":            "rollonset serve archive",
	"rollonset help":             "rollonset help process",
}

// giveExamples puts the example into the help of a command and of those below
// it.
func giveExamples(cmd *cobra.Command) {
	if e := examples[cmd.CommandPath()]; e != "" {
		cmd.Example = "  " + e
	}
	for _, c := range cmd.Commands() {
		giveExamples(c)
	}
}
