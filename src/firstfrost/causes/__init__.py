"""What is wrong, ranked by how well it explains a visit's readings; and which reading would tell."""
