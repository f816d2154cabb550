//go:build race

package cli

// raceDetector tells that the tests run many times slower than otherwise.
const raceDetector = true
