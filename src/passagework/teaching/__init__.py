"""What comes next: students and their skills, readiness, the plan, the week's assignment. Rules, no storage."""
