-- From a role's own call, or from the call for help, to the first arrival of that role.
select b.mode, i.measure, i.role, count(*) as called, count(i.seconds) as arrived,
  percentile_cont(0.25) within group (order by i.seconds) as q1,
  percentile_cont(0.5) within group (order by i.seconds) as median,
  percentile_cont(0.75) within group (order by i.seconds) as q3
from intervals i
join births b on b.record = i.record
where i.measure in ('called-to-arrival', 'help-to-arrival') and i.number = 1
group by b.mode, i.measure, i.role
order by b.mode, i.measure, i.role
