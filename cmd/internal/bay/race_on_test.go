//go:build race

package bay

// raceDetector tells that the tests run many times slower than otherwise.
const raceDetector = true
