package main

import (
	"codeberg.org/go-fonts/liberation/liberationmonobold"
	"codeberg.org/go-fonts/liberation/liberationmonobolditalic"
	"codeberg.org/go-fonts/liberation/liberationmonoitalic"
	"codeberg.org/go-fonts/liberation/liberationmonoregular"
	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansbolditalic"
	"codeberg.org/go-fonts/liberation/liberationsansitalic"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-fonts/liberation/liberationserifbold"
	"codeberg.org/go-fonts/liberation/liberationserifbolditalic"
	"codeberg.org/go-fonts/liberation/liberationserifitalic"
	"codeberg.org/go-fonts/liberation/liberationserifregular"
)

// fonts are the embedded files that gonum/plot reads whenever a program that
// can draw starts: two megabytes, and a kernel that has not drawn anything
// needs none of them.
func fonts() [][]byte {
	return [][]byte{
		liberationmonobold.TTF, liberationmonobolditalic.TTF, liberationmonoitalic.TTF, liberationmonoregular.TTF,
		liberationsansbold.TTF, liberationsansbolditalic.TTF, liberationsansitalic.TTF, liberationsansregular.TTF,
		liberationserifbold.TTF, liberationserifbolditalic.TTF, liberationserifitalic.TTF, liberationserifregular.TTF,
	}
}
