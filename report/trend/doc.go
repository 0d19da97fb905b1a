// Package trend turns what the archive holds into rates, limits and alerts:
// is the rate rising, where, and is that more than chance; how near to the
// limit is the ordinary takeoff; and is there still somebody looking. It has
// no I/O and no clock; the order of the rows is of no account.
//
// The recipe:
//
//  1. Rows makes rows of summaries: a row for each check, reject and measure
//     of each takeoff attempt, with its review.
//  2. Build reads the rows once and gives Trends. It keeps counts by day, and
//     by group and month, not rows.
//  3. Trends holds the Series (each check, and rejects: all, before the
//     roll, low-speed, high-speed), the Measures, the Alerts, what is Quiet, and the Budget.
//
// The figures, each with what it assumes:
//
//   - Rate: events over the takeoff attempts on which the check could be told,
//     per 1,000. Events reviewed as nuisance or data fault are no events;
//     those that nobody has reviewed count (unless ValidOnly), and every tally
//     shows them apart. An attempt that cannot be told is in no denominator.
//   - Its interval (Garwood): exact for counts that come one by one. Five
//     events in 1,250 takeoffs are 4.0 per 1,000, and may be 1.3 to 9.3.
//     Events that bring each other about (one bad load sheet, three flights)
//     make every limit here too narrow; look at the events before the line.
//   - Month chart: normal limits at 3 standard deviations, which are wrong for
//     small counts and shown for comparison; exact Poisson limits about the
//     baseline rate for the month's own denominator; and the alert limit, a
//     prediction limit, which allows for the baseline being an estimate too.
//     A point on a line is not above it. A month in which nothing was told
//     has no rate; it is not a month of zero.
//   - Takeoffs between events: geometric if each takeoff has the same chance.
//     Where in its day an event lies is not used: those of one day are spread
//     evenly over its takeoffs. EventTimes asks whether events come closer.
//     Both describe; they raise no alert.
//   - Cumulative sum (EventSum): adds an event, takes off what was due, never
//     below 0, and signals when the sum is more than a rate as before would
//     bring. It is tuned to a doubled rate. Its run lengths are computed as a
//     Markov chain and agree with simulated single takeoffs within 3 % for
//     events rarer than 1 in 500; for more frequent ones they promise too
//     little rather than too much (see EventSum). With a signal of 5 events and 1 event in 500 takeoffs it signals falsely once
//     in 57,000 takeoffs and finds a doubled rate after 3,500. The signal is
//     raised for what is not known of the baseline rate, so RunLength, which
//     is that of an exact reference, reads longer than the budget asks for. A
//     baseline with few events cannot be watched in this way, and then it says
//     so.
//   - Safety performance indicator (ICAO Doc 9859, 3rd ed., 4.3.5.8-9): mean
//     and population standard deviation of the baseline months, frozen; one
//     month above +3, two running above +2, three running above +1. Decided
//     here: above is strict; a month without exposure is no point, and neither
//     breaks nor continues a run; runs start anew after the baseline. The
//     lines are crossed often without any change: in 30 % of years at one
//     event a month, 22 % at five, 18 % at twenty, for each series (simulated,
//     independent Poisson months). So every crossing is shown with the exact
//     probability of its count, and only one beyond chance is an alert.
//   - Change and markers: RateRatio, exact given the total; RatioMethod names
//     which of the two p values it is. Before and after a marker other things
//     changed too: the ratio says that it changed, not why.
//   - Groups: the rates of types, bases, runways and tails as gamma-Poisson
//     empirical Bayes, prior by moments. A group of few takeoffs is drawn to
//     the rate of all; the interval holds 90 % of the posterior; Higher is the
//     probability that the group's rate exceeds that of all. Alerts are under
//     false-discovery control (Benjamini and Hochberg) over all groups of one
//     kind and all series. A doubled rate at one base is also found by the sum
//     of each group, by month, about its own shrunken baseline.
//   - Margins: percentiles by month, right to about 1 %; drift of the medians
//     by Mann and Kendall's rank test with ties, and Sen's slope. Each type is
//     tested by itself, for the fleet's median moves with its mix. Months are
//     taken as independent: seasons look like a drift unless whole years are
//     tested. A margin that shrinks is an alert; one that grows is not.
//   - Coverage: a check that is told, or shows life, on fewer attempts than in
//     the baseline, on the fleet or on one tail, by the exact test of two
//     shares and by at least 20 points. A rate that fell while coverage fell
//     carries a Caution. A tail on which a check was never told is Blind.
//
// False alerts. Under no change the rules together raise at most
// Options.FalseAlerts alerts a year on the average (1 by default). Each rule
// has a share of that (Budget.Rules), spread evenly over its tests; the
// average of a sum is the sum of averages, so this holds although rules look
// at the same events. Counts are whole numbers and most tests stay below
// their part: 49 alerts came in 200 simulated years without change at one a
// year. A page made anew each month looks at mostly the same data again;
// the budget is that of the page at the end of the watched period.
package trend
