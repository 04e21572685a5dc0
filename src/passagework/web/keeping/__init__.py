"""What is kept, and where: said in words, exported, brought back, backed up, taken away."""
