// Package design helps to size a real toy: which dimension gives the wanted
// period, how exactly a hand must work for most of a class set to balance, and
// what material to buy.
//
// Numbers are in SI units. It builds on toy, balance and elastic and knows nothing
// of questions or notebooks. What it computes is a model: build one toy, try it
// under the rules of the workshop, and correct the model before building thirty.
package design
