// Package seal puts the key of a question into a student's file so that it can
// check an answer and cannot be read.
//
// # How
//
// The answer is reduced to a print: the cell of a number's value, the cells of
// a formula's values at fixed points, the letters of a choice. Every way to
// write the same answer has the same print. Argon2id makes a secret of the
// print and a salt; keys derived from the secret (HKDF with SHA-256) open
// authenticated boxes (ChaCha20-Poly1305). The right answer opens the box with
// the whole question, and the answer is then judged by it exactly as in the
// open: same code, same verdict. The print of a slip that the teacher foresaw
// opens what to say about it. Slips that nobody foresaw are made of the key
// when it is sealed, each in a small box of its own that holds its kind and a
// value to check it by; slips by a factor on top of another (twice, a sign, 2π,
// a prefix) are found by taking the factor off the answer and trying again.
//
// Cells have borders. For numbers the builder seals the key for every cell
// that the tolerance touches, so that no border can be missed, and what opens
// is judged by the key itself. For formulas cells are a millionth of the value
// wide, and where a value lies within 1.5 hundred-millionths of a border both
// cells are tried. Values of formulas are computed with as many digits as that
// takes.
//
// All boxes of a list have one length, lists are filled up with random bytes
// to round lengths, and their order is random.
//
// # What an attacker can learn
//
// The attacker has the student's file and this source, and any number of
// computers.
//
//   - In clear: the question as it is asked, its kind, letters, units, ranges,
//     tolerance, marks and hints; the unit of the answer; which letter an
//     equation is checked by, and which letters the milestones of a derivation
//     are solved for and name; at which of the possible points formulas are
//     compared (the first at which the key has values); how many foreseen slips
//     and components there are (to within the filling up), and very roughly how
//     long the key and its working are (in steps of 512 bytes).
//   - Not readable without an answer that opens it: key, working, what is said
//     about slips, which slips there are.
//   - A wrong answer that is a known slip opens its box and tells its kind, as
//     it tells the student who sends it. A slip's kind is a clue to the key, no
//     more than the check itself gives.
//   - Every guess costs one Argon2id of 2 MiB, 1.0 to 1.4 ms on one core of the
//     machine that this was written on (BenchmarkGuess); guesses for one file do not help with
//     another, because each has a salt, unless they are copies of one question
//     for one class: those may share a salt, so that sealing them is affordable,
//     and whoever has a table of guesses for one copy has it for all. A choice of four options is open after
//     at most 15 guesses and hides nothing. A number known to three figures and
//     to within a factor of ten is open after at most 900 guesses, one second;
//     with the cells of a 2 % tolerance after 60. So a sealed number stops
//     those who look, not those who write a program: what must not be guessed
//     is asked as a formula, or as a closed question, whose file has no boxes
//     at all. In class sets, where each copy has numbers of its own and is
//     sealed by itself, a guess at a number costs the least that Argon2id
//     takes, 8 KiB or 0.03 ms. A vector's components are sealed one by one, so that the check can
//     tell which is wrong; they can also be guessed one by one.
//   - A formula has no short list to try. Who guesses formulas one by one does
//     the exercise.
//     The slips of formulas cost an eighth, because they are many.
//   - A derivation's box is opened by any of its milestones, or by its target,
//     and holds them all: who has reached one, and can write a program, can read
//     the rest. What the lines are worth is decided in the tutor's run.
//   - Nothing proves who answered: a classmate's answer to the same numbers
//     opens the box as well. Hand-outs give each student their own.
//   - A student can change the file, and make it say what they like on their
//     own screen. Marks come from the tutor's run, which uses the key file.
//
// The cost of Argon2id is a compromise with the student's waiting: one check
// takes one to eight guesses' time (readings of one text, borders of cells), a
// wrong answer with the search for slips about twenty more.
//
// Version, salt and costs stand in clear at the head, so that the format can
// change; unknown versions are refused.
package seal
