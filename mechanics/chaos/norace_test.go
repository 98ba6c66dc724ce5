//go:build !race

package chaos_test

const shorter = 1
