// Package typeset writes expressions as people do: plain text, TeX and MathML.
//
// What it writes has the value and the structure of what it was given, with
// factors and terms in the order that is usual in mechanics (m g l, not g l m)
// and brackets only where they are needed. [Text] reads back through package
// parse as the same expression. The package computes nothing.
package typeset
