//go:build race

package worker

// raceDetector tells whether these tests run under it.
const raceDetector = true
