//go:build race

package chaos_test

// shorter divides the lengths of measurements under the race detector, which
// slows arithmetic down thirtyfold; standard errors grow as its root.
const shorter = 12
