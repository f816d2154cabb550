//go:build !race

package checklist_test

// raceDetector tells that the tests run many times slower than otherwise.
const raceDetector = false
