"""Printed TPU limbs with a push-in wire: stiffness, pose, channel, life."""
