#!/bin/sh
# First process of the virtual machine: kernel Bluetooth, D-Bus, bluetoothd, then the trial; then off.
export PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/root PYTHONPATH=/opt/app:/opt/libraries PYTHONUNBUFFERED=1
mount -t proc proc /proc; mount -t sysfs sys /sys; mount -t devtmpfs dev /dev 2>/dev/null
mount -t tmpfs run /run; mkdir -p /run/dbus /tmp /dev/pts /dev/shm
ip link set lo up 2>/dev/null
modprobe bluetooth && modprobe hci_vhci
dbus-uuidgen --ensure; dbus-daemon --system --fork
for daemon in /usr/libexec/bluetooth/bluetoothd /usr/lib/bluetooth/bluetoothd; do [ -x $daemon ] && break; done
echo "VERSIONS kernel $(uname -r), bluetoothd $($daemon --version)"
$daemon -n > /run/bluetoothd.log 2>&1 &
echo $! > /run/bluetoothd.pid
cd /opt/app
python3 trial.py
echo "TRIAL ended $?"
echo "--- bluetoothd"; tail -20 /run/bluetoothd.log
echo "--- pair"; tail -20 /run/pair.log 2>/dev/null
echo 1 > /proc/sys/kernel/sysrq; echo o > /proc/sysrq-trigger; sleep 10
