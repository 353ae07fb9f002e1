-- In how many records each field applies, and in how many it is recorded.
select b.mode, f.kind, f.field,
  cast(sum(case when f.state = 'does not apply' then 0 else 1 end) as bigint) as asked,
  cast(sum(case when f.state = 'recorded' then 1 else 0 end) as bigint) as recorded
from fields f
join births b on b.record = f.record
group by b.mode, f.kind, f.field
order by b.mode, f.kind, f.field
