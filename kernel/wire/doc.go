// Package wire carries Jupyter messages as bytes: the frames and signatures of
// a message, its headers and contents, the connection file, and the five
// sockets behind a transport that strangers cannot block or exhaust.
//
// It knows nothing of cells, of Go code or of the order of messages; package
// server does. The protocol is Jupyter's messaging protocol 5.5
// (https://jupyter-client.readthedocs.io/en/stable/messaging.html); the sockets
// speak ZMTP 3.0 (https://rfc.zeromq.org/spec/23/).
package wire

// ProtocolVersion is the version of the messaging protocol that is spoken.
const ProtocolVersion = "5.5"
