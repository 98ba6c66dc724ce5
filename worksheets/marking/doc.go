// Package marking turns a folder of handed-in notebooks into a markbook,
// results, item figures, a class report and a feedback page for every student.
//
// Scripts are data from strangers. They are read within limits and never run,
// written to or trusted: who a script belongs to is looked up in the key file,
// and so are the student's values. Every script is marked by one [Policy] with
// the engine that the student's own notebook used; what a human must read
// waits in a queue.
//
// Results are kept as they come, in the order of the pile, by package journal:
// a run that was killed goes on where it was. Everything else follows from
// them and can be written again at any time ([Finish]).
//
// The package knows questions and key files. It knows neither the kernel nor
// Jupyter, and reaches neither processes nor the network.
package marking
