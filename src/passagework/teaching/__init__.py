"""What comes next: students and their skills, readiness, the plan, the week's assignment. Rules, no storage and no clock.

    skills = skills_of(student, today)                      what was played securely, kind by kind (`skills`)
    readiness(demands, skills)                              secure, a step up, too far, with the bars (`readiness`)
    stepping_stones(demands, skill_values(skills), library) pieces that lead there (`passagework.demands.stones`)
    work = piece_work(id, title, context, spots, demands, performance=day)          (`work_of`)
    plan = plan_all([work], student, skill_values(skills), today)                   (`plan`)
    assignment(plan, student, today)                        one week, to be printed (`assignment`, `passagework.guide.assignment_page`)
    take = hear(id, piece_id, title, day, heard, findings, demands)                 (`heard`)
    plan = replan(plan, student, secure, today, results=results_of(take, plan.items, plan.states))

Students, plans and assignments become JSON with `stored.write(value, FORMAT)` and come back with `stored.read(data, Kind, FORMAT)`.
`edits` lays the teacher's own edits over what is computed.
"""
