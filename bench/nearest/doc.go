// Package nearest finds the word that was probably meant by one that nobody knows.
//
// It owns the one edit distance of the bench: of names by letter, of sentences by word.
package nearest
