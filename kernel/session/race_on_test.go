//go:build race

package session

// raceDetector tells whether these tests run under it. It sees races inside
// cells as it sees those of compiled programs.
const raceDetector = true
