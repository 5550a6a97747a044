"""The version of Tape & Seal, for records, pages and packets."""

VERSION = "0.1.0"
