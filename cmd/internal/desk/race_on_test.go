//go:build race

package desk

// raceDetector tells that the tests run many times slower than otherwise.
const raceDetector = true
