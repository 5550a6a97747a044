"""How codes and files become bytes of packets: pictures read in a child process, codes of several packets sorted, refused bytes put aside."""
