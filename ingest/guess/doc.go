// Package guess proposes what the columns of a recording mean: for each the
// canonical parameter, the unit, the states of a discrete, the reason in words,
// and how sure the guess is. Draft turns the guesses into a first profile.
//
// A guess is for a person to confirm. No recording is ever judged by one: the
// program reads recordings by a profile that somebody has approved.
//
// How a column is guessed:
//
//  1. its name is cut into words, which are looked up in a vocabulary of the
//     words of the trade (words.go, vocabulary.go); a number is an engine, L and
//     R are sides;
//  2. what it holds must fit: few states for a discrete, a possible range for a
//     number (fit.go);
//  3. the unit comes from the name or the row of units, else from the range and
//     from comparison with another column (units.go);
//  4. which word of a discrete means which state comes from the words, else from
//     what the aeroplane did meanwhile (states.go);
//  5. a column whose name says nothing may still move like a speed or change
//     state at lift-off (behaviour.go).
package guess
