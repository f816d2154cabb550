//go:build race

package store

// raceDetector tells that the tests run many times slower than otherwise.
const raceDetector = true
