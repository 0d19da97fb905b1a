// Package page writes the HTML pages of the archive: one per flight, one for
// the night. It formats what a summary says and decides nothing.
//
//  1. [Sentences] and [Headline] say in words what one attempt's summary says
//     in numbers; the command line prints the same ones.
//  2. [Number], [Speed] and their neighbours are the one place where a figure
//     becomes text, so that page and terminal agree.
//  3. [Flight] writes the page of one flight with its pictures, [Night] the
//     index of a run.
//
// A page is one file: style, script, pictures and samples are inside it, and
// its content security policy forbids it to fetch anything. Templates, style
// sheets and scripts lie in assets as files of their own.
package page
