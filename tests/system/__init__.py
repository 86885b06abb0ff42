"""Real kernel Bluetooth and bluetoothd, in a virtual machine: `python3 -m tests --system`."""
