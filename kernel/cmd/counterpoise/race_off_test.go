//go:build !race

package main

// raceDetector tells whether these tests run under it.
const raceDetector = false
