//go:build !race

package session

// raceDetector tells whether these tests run under the race detector.
const raceDetector = false
