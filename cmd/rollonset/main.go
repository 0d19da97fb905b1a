// Command rollonset reads recorded flight data, finds every takeoff attempt,
// judges the configuration at the onset of the takeoff roll and measures
// rejected takeoffs. See README.md.
package main

import (
	"context"
	"os"
)

func main() {
	os.Exit(run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
