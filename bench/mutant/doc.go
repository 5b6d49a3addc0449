// Package mutant owns the mechanical changes of Go sources by which the bench measures how
// blind it is: each mutant is one small defect, and a bench that passes it does not see it.
//
// It works on text and syntax alone. What does not compile is found by the compiler later; an
// operator therefore prefers a change that leaves every variable and import in use.
package mutant
